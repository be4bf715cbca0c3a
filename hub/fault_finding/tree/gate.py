"""What every search into a run begins with: a board that is not heard can show no pattern."""

from hub.fault_finding.known import NO, YES, heard
from hub.fault_finding.step import Choice, Question
from hub.fault_finding.symptom import Symptom


def heard_first(symptom: Symptom, then: str) -> Question:
    """The first question of a symptom; the hub answers it."""
    return Question(
        step=f"{symptom.value}-heard",
        words="Does the hub hear {node}?",
        look="`stringcourse node list` says so, and so does the page.",
        choices=(Choice(YES, "Yes", then), Choice(NO, "No", "silent-supply-mates")),
        known=heard,
    )

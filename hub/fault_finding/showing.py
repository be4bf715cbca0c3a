"""A search as it is shown: its row, the question or diagnosis that stands, what the hub knows."""

from typing import Final

from pydantic import TypeAdapter

from hub.fault_finding.course import Course, Tree, choices_of, filled, standing
from hub.fault_finding.figures import facts_of
from hub.fault_finding.knowledge import Knowledge
from hub.fault_finding.models import FaultFinding
from hub.fault_finding.step import Diagnosis, Question
from hub.fault_finding.symptom import WORDS, Symptom
from hub.fault_finding.view import (
    ChoiceView,
    DiagnosisView,
    FaultFindingSummary,
    FaultFindingView,
    QuestionView,
    ShownPattern,
    StepTaken,
)
from schemas import TestPattern

PATTERN_S: Final = 120.0

_STEPS: Final = TypeAdapter(list[StepTaken])
_SOUND: Final[dict[TestPattern, str]] = {
    "thirds": "A white first pixel, then even thirds of red, green and blue, in this order from where the data enters.",
    "first-pixel": "The first pixel alone, in white, where the data enters; all others dark.",
    "every-tenth": "Pixels 0, 10, 20 … in white up to the far end; all others dark.",
    "ramp": "White, from dark where the data enters to half light at the far end, without a step.",
    "bars": "Ten equal bars, each of one even colour, as bright at the far end as at the start.",
}


def course_of(row: FaultFinding) -> Course:
    return Course(
        channel=row.channel,
        symptom=None if row.symptom is None else Symptom(row.symptom),
        step=row.step,
        taken=tuple(_STEPS.validate_json(row.steps)),
    )


def steps_json(course: Course) -> str:
    """Answers as the row keeps them."""
    return _STEPS.dump_json(list(course.taken)).decode()


def diagnosis_of(step: Diagnosis, know: Knowledge) -> DiagnosisView:
    """With its words, and what to carry for this run."""
    return DiagnosisView(
        step=step.step,
        title=filled(step.title, know),
        likely=filled(step.likely, know),
        proof=filled(step.proof, know),
        remedy=filled(step.remedy, know),
        carry=[item for carry in step.carry for item in carry(know)],
        cautions=list(step.cautions),
        source=step.source,
        choices=_choices(step, know),
    )


def summary_of(row: FaultFinding) -> FaultFindingSummary:
    diagnosis = None if row.diagnosis is None else DiagnosisView.model_validate_json(row.diagnosis)
    return FaultFindingSummary(**_summary(row, diagnosis))


def view_of(row: FaultFinding, tree: Tree, know: Knowledge | None) -> FaultFindingView:
    """`know` is None where node or run are no longer in the venue."""
    diagnosis = None if row.diagnosis is None else DiagnosisView.model_validate_json(row.diagnosis)
    course = course_of(row)
    step = None if know is None else standing(tree, course, know)
    asked = step if row.ended_at_ms is None and isinstance(step, Question) else None
    stuck = None
    if row.ended_at_ms is None and know is None:
        stuck = f"{row.node} or its run is no longer in the venue; end this search"
    elif row.ended_at_ms is None and step is None:
        stuck = "this hub no longer asks that question; end this search and begin anew"
    return FaultFindingView(
        **_summary(row, diagnosis),
        facts=[] if know is None or row.ended_at_ms is not None else facts_of(know),
        steps=list(course.taken),
        question=None if asked is None or know is None else _question(row, asked, know),
        diagnosis=diagnosis,
        stuck=stuck,
    )


def _question(row: FaultFinding, step: Question, know: Knowledge) -> QuestionView:
    pattern = None
    if step.shows is not None:
        pattern = ShownPattern(
            pattern=step.shows,
            sound=_SOUND[step.shows],
            shown_at_ms=row.shown_at_ms,
            ends_at_ms=None if row.shown_at_ms is None else row.shown_at_ms + round(PATTERN_S * 1_000),
            not_shown=row.not_shown,
        )
    return QuestionView(
        step=step.step,
        question=filled(step.words, know),
        look=filled(step.look, know),
        cautions=list(step.cautions),
        pattern=pattern,
        choices=_choices(step, know),
    )


def _choices(step: Question | Diagnosis, know: Knowledge) -> list[ChoiceView]:
    return [ChoiceView(answer=one.answer, words=one.words) for one in choices_of(step, know)]


def _summary(row: FaultFinding, diagnosis: DiagnosisView | None) -> dict[str, object]:
    seen = "Not said yet" if row.symptom is None else WORDS[Symptom(row.symptom)]
    state = "ended" if row.ended_at_ms is not None else "asking" if diagnosis is None else "diagnosed"
    return {
        "id": str(row.id),
        "node": row.node,
        "channel": row.channel,
        "symptom": row.symptom,
        "state": state,
        "title": seen if diagnosis is None else diagnosis.title,
        "begun_at_ms": row.begun_at_ms,
        "begun_by": row.begun_by,
        "ended_at_ms": row.ended_at_ms,
        "ended_by": row.ended_by,
        "mended": row.mended,
        "note": row.note,
    }

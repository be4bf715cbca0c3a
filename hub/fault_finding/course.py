"""The course of one search: which question stands, what an answer leads to, what the hub answers itself. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from hub.errors import ConflictError, InvalidError, Mistake
from hub.fault_finding.figures import figures_of
from hub.fault_finding.knowledge import Knowledge
from hub.fault_finding.step import NOT_IT, Choice, Diagnosis, Question, Step
from hub.fault_finding.symptom import WORDS, Symptom
from hub.fault_finding.view import StepTaken
from schemas import Node

WHAT_IS_SEEN: Final = "what-is-seen"
WHICH_CHANNEL: Final = "which-channel"
MAX_STEPS: Final = 100
NOT_THAT: Final = "That was not it: what else it may be"


@dataclass(frozen=True, slots=True)
class Tree:
    """Every step by its id, and where each symptom begins."""

    steps: Mapping[str, Step]
    begins: Mapping[Symptom, str]


@dataclass(frozen=True, slots=True)
class Course:
    """Where a search stands. `step` is a step of the tree, `what-is-seen` or `which-channel`."""

    channel: int | None
    symptom: Symptom | None
    step: str
    taken: tuple[StepTaken, ...] = ()


@dataclass(frozen=True, slots=True)
class Given:
    """Who answered, when (show time, ms), and what they noted."""

    at_ms: int
    by: str | None = None
    note: str | None = None


def begin(tree: Tree, node: Node, channel: int | None, symptom: Symptom | None) -> Course:
    """Where a search begins: at the symptom where it is known. Raises ConflictError for a run of a node without any."""
    return _toward(tree, node, Course(channel, symptom, WHAT_IS_SEEN))


def standing(tree: Tree, course: Course, know: Knowledge) -> Step | None:
    """The question or diagnosis that stands; None where the tree no longer has it."""
    if course.step == WHAT_IS_SEEN:
        seen = [one for one in Symptom if know.node.channels or not one.of_a_run]
        return Question(
            WHAT_IS_SEEN,
            "What do you see?",
            "Look from where the public stands first, then at the run itself.",
            tuple(Choice(one.value, WORDS[one], one.value) for one in seen),
        )
    if course.step == WHICH_CHANNEL:
        return Question(
            WHICH_CHANNEL,
            "Which run is it?",
            "Channels are numbered on the wiring sheet, and at the board's outputs.",
            tuple(
                Choice(str(one.number), f"Channel {one.number}: {one.run.pixels} pixels", WHICH_CHANNEL)
                for one in know.node.channels
            ),
        )
    return tree.steps.get(course.step)


def answered(tree: Tree, course: Course, know: Knowledge, answer: str, given: Given, *, hub: bool = False) -> Course:
    """The course after an answer. Raises InvalidError for one that the step does not have, ConflictError."""
    step = standing(tree, course, know)
    if step is None:
        raise ConflictError("this hub no longer asks that question; end the search and begin anew")
    if len(course.taken) >= MAX_STEPS:
        raise ConflictError(f"the search has {MAX_STEPS} answers; end it and begin anew")
    choice = next((one for one in choices_of(step, know) if one.answer == answer), None)
    if choice is None:
        there = ", ".join(one.answer for one in choices_of(step, know)) or "none: end the search"
        raise InvalidError(
            "the question has no such answer", [Mistake("body.answer", "not one of the answers", f"choose of: {there}")]
        )
    taken = StepTaken(
        step=course.step,
        question=filled(step.title if isinstance(step, Diagnosis) else step.words, know),
        answer=answer,
        words=choice.words,
        note=given.note,
        at_ms=given.at_ms,
        by=given.by,
        hub=hub,
        taken_back=False,
    )
    course = replace(course, taken=(*course.taken, taken))
    if course.step == WHAT_IS_SEEN:
        return _toward(tree, know.node, replace(course, symptom=Symptom(answer)))
    if course.step == WHICH_CHANNEL:
        return _toward(tree, know.node, replace(course, channel=int(answer)))
    return replace(course, step=choice.then)


def known_on(tree: Tree, course: Course, know: Knowledge, at_ms: int) -> Course:
    """The course after all that the hub can answer by itself."""
    while isinstance(step := standing(tree, course, know), Question) and step.known is not None:
        known = step.known(know)
        if known is None:
            break
        course = answered(tree, course, know, known.answer, Given(at_ms), hub=True)
        course = replace(course, taken=(*course.taken[:-1], course.taken[-1].model_copy(update={"words": known.words})))
    return course


def taken_back(course: Course) -> Course:
    """Before the last answer of a person, which stays on record. Raises ConflictError where there is none."""
    mine = [place for place, one in enumerate(course.taken) if not one.hub and not one.taken_back]
    if not mine:
        raise ConflictError("nobody has answered anything yet; there is nothing to take back")
    last = mine[-1]
    gone = tuple(one.model_copy(update={"taken_back": True}) for one in course.taken[last:])
    course = replace(course, step=course.taken[last].step, taken=(*course.taken[:last], *gone))
    if course.step == WHAT_IS_SEEN:
        return replace(course, symptom=None)
    return replace(course, channel=None) if course.step == WHICH_CHANNEL else course


def choices_of(step: Step, know: Knowledge) -> tuple[Choice, ...]:
    """What may be answered, its words filled in."""
    if isinstance(step, Diagnosis):
        return () if step.if_not is None else (Choice(NOT_IT, NOT_THAT, step.if_not),)
    return tuple(replace(one, words=filled(one.words, know)) for one in step.choices)


def filled(words: str, know: Knowledge) -> str:
    """Words with the figures in their braces."""
    return words.format_map(figures_of(know))


def _toward(tree: Tree, node: Node, course: Course) -> Course:
    symptom = course.symptom
    if symptom is None:
        return replace(course, step=WHAT_IS_SEEN)
    if symptom.of_a_run and course.channel is None:
        if not node.channels:
            raise ConflictError(f"{node.id} has no run; begin with a symptom of the board")
        if len(node.channels) > 1:
            return replace(course, step=WHICH_CHANNEL)
        course = replace(course, channel=node.channels[0].number)
    return replace(course, step=tree.begins[symptom])

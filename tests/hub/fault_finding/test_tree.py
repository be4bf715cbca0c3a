"""The tree holds together, every step of it has words for any run, and a tree that does not is refused."""

import re
from dataclasses import replace
from pathlib import Path

import pytest
import typer.main
from hypothesis import given
from hypothesis import strategies as st
from typer.core import TyperGroup

from hub.cli.application import application
from hub.fault_finding.checking import followers, reached, tree_of, words_of
from hub.fault_finding.course import (
    MAX_STEPS,
    WHAT_IS_SEEN,
    Course,
    Given,
    answered,
    begin,
    choices_of,
    filled,
    known_on,
    standing,
    taken_back,
)
from hub.fault_finding.figures import facts_of
from hub.fault_finding.hands import Hands
from hub.fault_finding.known import heard
from hub.fault_finding.showing import diagnosis_of
from hub.fault_finding.step import NOT_IT, Choice, Diagnosis, Question, Step
from hub.fault_finding.symptom import WORDS, Symptom
from hub.fault_finding.tree import TREE
from hub.fault_finding.tree.book import BEGINS
from hub.venue_file import read_venue_file
from tests.hub.fault_finding.searches import knowledge, one_board

LONGEST_WORDS = 400
QUESTIONS = [step for step in TREE.steps.values() if isinstance(step, Question)]
DIAGNOSES = [step for step in TREE.steps.values() if isinstance(step, Diagnosis)]
BARE = one_board(channels=[])
STEPS: tuple[Step, ...] = tuple(TREE.steps.values())
OF_A_BOARD = {name for symptom in Symptom if not symptom.of_a_run for name in reached(TREE, symptom)}
ARCADE = read_venue_file(Path(__file__).parents[3] / "deploy" / "demo" / "arcade.yaml")
A_RUN, A_BOARD = knowledge(one_board()), knowledge(one_board(), channel=None)
A_BAY, NO_RUN = knowledge(ARCADE), knowledge(BARE, channel=None)


def test_every_symptom_has_words_and_leads_to_several_diagnoses() -> None:
    assert set(WORDS) == set(Symptom)
    for symptom in Symptom:
        names = reached(TREE, symptom)
        assert sum(isinstance(TREE.steps[name], Diagnosis) for name in names) >= 3, symptom


def test_every_diagnosis_says_what_to_carry_and_to_mind_whatever_the_run() -> None:
    for know in (A_RUN, A_BAY, A_BOARD, NO_RUN):
        for step in DIAGNOSES:
            if know.channel is None and step.step not in OF_A_BOARD:
                continue
            shown = diagnosis_of(step, know)
            assert shown.carry
            assert shown.cautions
            for words in (shown.title, shown.likely, shown.proof, shown.remedy, *(one.size for one in shown.carry)):
                assert 0 < len(words) <= LONGEST_WORDS, step.step
                assert not re.search(r"[{}]", words), words


def test_every_question_has_words_whatever_the_run() -> None:
    for step in QUESTIONS:
        for know in (A_RUN, A_BAY):
            for words in (
                filled(step.words, know),
                filled(step.look, know),
                *(c.words for c in choices_of(step, know)),
            ):
                assert 0 < len(words) <= LONGEST_WORDS, step.step
                assert not re.search(r"[{}]", words), words
            assert filled(step.words, know).endswith("?") or "?" in step.words, step.step
    assert facts_of(NO_RUN)


def test_every_command_that_words_name_is_there() -> None:
    whole = typer.main.get_command(application())
    assert isinstance(whole, TyperGroup)
    words = {
        word for step in STEPS for text in words_of(step) for word in re.findall(r"`stringcourse ([a-z -]+)", text)
    }
    assert len(words) >= 8
    for word in words:
        command: object = whole
        for name in word.split(" --")[0].split():
            if not isinstance(command, TyperGroup):
                break
            command = command.commands.get(name)
        assert command is not None, word


def test_whoever_touches_or_measures_is_cautioned_first() -> None:
    for step in STEPS:
        text = " ".join(step.cautions)
        if step.hands is Hands.METER:
            assert "arcs" in text, step.step
        if step.hands is Hands.WORK:
            assert "Power off" in text, step.step
            assert "polarity" in text, step.step
        if step.hands in (Hands.METER, Hands.WORK):
            assert "licensed electrician" in text, step.step
            assert "height" in text, step.step


def test_a_meter_is_asked_for_only_where_the_words_say_where_to_put_it() -> None:
    for step in QUESTIONS:
        if "meter read" in step.words:
            assert step.hands is Hands.METER, step.step
        if step.look.startswith("Power off"):
            assert step.hands is Hands.WORK, step.step


@given(st.data())
def test_any_answers_in_any_order_end_at_a_diagnosis(data: st.DataObject) -> None:
    know = data.draw(st.sampled_from([A_RUN, A_BOARD]))
    picks = data.draw(st.lists(st.integers(0, 11), min_size=50, max_size=50))
    takes_back = data.draw(st.sets(st.integers(0, 20), max_size=3))
    course = begin(
        TREE, know.node, None if know.channel is None else 1, data.draw(st.none() | st.sampled_from(Symptom))
    )
    for turn, pick in enumerate(picks):
        know = A_RUN if course.channel is not None else know
        course = known_on(TREE, course, know, 0)
        step = standing(TREE, course, know)
        assert step is not None
        choices = choices_of(step, know)
        if isinstance(step, Diagnosis) and (not choices or pick < 6):
            break
        before = course
        course = answered(TREE, course, know, choices[pick % len(choices)].answer, Given(0))
        if turn in takes_back:
            course = taken_back(course)
            assert (course.step, course.symptom) == (before.step, before.symptom)
            assert course.taken[-1].taken_back
    else:
        pytest.fail("the search did not end")
    stand = [one.step for one in course.taken if not one.taken_back]
    assert len(set(stand)) == len(stand) <= MAX_STEPS


def test_search_without_a_symptom_asks_for_it_then_for_the_run() -> None:
    know = A_BOARD
    course = begin(TREE, know.node, None, None)
    first = standing(TREE, course, know)
    assert isinstance(first, Question)
    assert [one.answer for one in first.choices] == [one.value for one in Symptom]
    course = answered(TREE, course, know, "flickers", Given(0))
    assert course.step == "which-channel"
    course = answered(TREE, course, know, "2", Given(0))
    assert (course.channel, course.step) == (2, "flickers-heard")
    back = taken_back(taken_back(course))
    assert back == Course(None, None, WHAT_IS_SEEN, back.taken)


def test_board_without_runs_is_asked_only_for_what_it_can_have() -> None:
    know = NO_RUN
    first = standing(TREE, begin(TREE, know.node, None, None), know)
    assert isinstance(first, Question)
    assert {one.answer for one in first.choices} == {"supply-dark", "board-silent"}


def _with(**changed: Step) -> tuple[Step, ...]:
    named = {name.replace("_", "-"): step for name, step in changed.items()}
    return tuple(named.pop(step.step, step) for step in STEPS) + tuple(named.values())


def _question(name: str) -> Question:
    step = TREE.steps[name]
    assert isinstance(step, Question)
    return step


def _diagnosis(name: str) -> Diagnosis:
    step = TREE.steps[name]
    assert isinstance(step, Diagnosis)
    return step


BROKEN: dict[str, tuple[tuple[Step, ...], str]] = {
    "dangling": (
        _with(first_seen=replace(_question("first-seen"), choices=(Choice("a", "A", "nowhere"),))),
        "first-seen: leads to 'nowhere', which is no step",
    ),
    "loop": (_with(supply_dead=replace(_diagnosis("supply-dead"), if_not="supply-volts")), "in or behind a loop: "),
    "out of reach": (
        _with(lost=replace(_diagnosis("supply-dead"), step="lost")),
        "lost: no symptom leads to it",
    ),
    "twice": ((*STEPS, TREE.steps["supply-dead"]), "supply-dead: there are 2 of it"),
    "nothing to carry": (_with(supply_dead=replace(_diagnosis("supply-dead"), carry=())), "nothing to carry"),
    "no caution": (
        _with(mains_off=replace(_diagnosis("mains-off"), more_cautions=())),
        "mains-off: a diagnosis without a caution",
    ),
    "no source": (_with(supply_dead=replace(_diagnosis("supply-dead"), source="")), "supply-dead: no source"),
    "one answer": (
        _with(first_seen=replace(_question("first-seen"), choices=_question("first-seen").choices[:1] * 2)),
        "first-seen: needs two or more answers",
    ),
    "the hub's own answer": (
        _with(silent_lamp=replace(_question("silent-lamp"), known=heard)),
        "silent-lamp: what the hub answers is yes or no",
    ),
    "figure of a run where none is": (
        _with(supply_volts=replace(_question("supply-volts"), words="Is it {minimum_v}?")),
        "supply-volts: there is no {minimum_v} there",
    ),
    "figure that is none": (
        _with(dim_ramp=replace(_question("dim-ramp"), words="Is it {brightness}?")),
        "dim-ramp: there is no {brightness} there",
    ),
    "pattern without a run": (
        _with(supply_volts=replace(_question("supply-volts"), shows="bars")),
        "supply-volts: shows a pattern",
    ),
}  # fmt: skip


@pytest.mark.parametrize("fault", BROKEN)
def test_tree_with_a_mistake_is_refused(fault: str) -> None:
    steps, said = BROKEN[fault]
    with pytest.raises(ValueError, match=re.escape(said)):
        tree_of(steps, BEGINS)


def test_symptom_that_begins_nowhere_is_refused() -> None:
    with pytest.raises(ValueError, match="symptom one-pixel: begins nowhere"):
        tree_of(STEPS, {symptom: begins for symptom, begins in BEGINS.items() if symptom is not Symptom.ONE_PIXEL})


def test_diagnosis_that_was_not_it_is_followed_by_what_else_it_may_be() -> None:
    step = _diagnosis("no-common-ground")
    (choice,) = choices_of(step, A_RUN)
    assert (choice.answer, choice.then) == (NOT_IT, "data-shifter")
    assert followers(step) == ("data-shifter",)
    assert choices_of(_diagnosis("supply-dead"), A_RUN) == ()

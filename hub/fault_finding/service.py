"""Searches for faults: begun, answered, taken back and ended by people, kept in the database, patterns shown."""

import time
from collections.abc import Callable
from typing import Final, Protocol

from sqlalchemy import Engine

from hub.errors import ConflictError, HubError, NotFoundError
from hub.fault_finding.course import Course, Given, Tree, answered, begin, known_on, standing, taken_back
from hub.fault_finding.gathering import Gathering
from hub.fault_finding.knowledge import Knowledge
from hub.fault_finding.models import FaultFinding
from hub.fault_finding.showing import PATTERN_S, course_of, diagnosis_of, steps_json, summary_of, view_of
from hub.fault_finding.step import Diagnosis, Question
from hub.fault_finding.store import FaultFindingStore
from hub.fault_finding.symptom import Symptom
from hub.fault_finding.tree import TREE
from hub.fault_finding.view import FaultFindingSummary, FaultFindingView
from schemas import AskTestPattern, Done

MAX_REASON: Final = 400


class Asks(Protocol):
    """The way to a node. Raises NotFoundError, ConflictError, UnavailableError."""

    def ask(self, venue: str, node: str, question: AskTestPattern) -> Done: ...


class FaultFindingService:
    """From any thread but the fleet loop's: it waits for the node's answer when a pattern is shown."""

    def __init__(
        self,
        engine: Engine,
        gathering: Gathering,
        asks: Asks,
        clock: Callable[[], float] = time.time,
        tree: Tree = TREE,
    ) -> None:
        self._store = FaultFindingStore(engine)
        self._tree = tree
        self._gathering = gathering
        self._asks = asks
        self._clock = clock

    def begin(
        self, venue: str, node: str, channel: int | None, symptom: Symptom | None, person: str | None
    ) -> FaultFindingView:
        """Raises NotFoundError, and ConflictError where a run is meant and the node has none."""
        know = self._gathering.of(venue, node, channel)
        course = begin(self._tree, know.node, channel, symptom)
        row = FaultFinding(venue=venue, node=node, step=course.step, begun_at_ms=self._now_ms(), begun_by=person)
        know = self._settle(row, course, know)
        self._store.add(row)
        return self._show(row, know)

    def answer(
        self, venue: str, number: int, step: str, answer: str, note: str | None, person: str | None
    ) -> FaultFindingView:
        """Raises NotFoundError, ConflictError where `step` does not stand, InvalidError for an unknown answer."""
        row = self._open(venue, number)
        if row.step != step:
            raise ConflictError(f"step {row.step!r} stands by now, not {step!r}; look again where the search stands")
        know = self._know(row)
        course = answered(self._tree, course_of(row), know, answer, Given(self._now_ms(), person, note))
        know = self._settle(row, course, know)
        self._store.save(row)
        return self._show(row, know)

    def back(self, venue: str, number: int) -> FaultFindingView:
        """Raises NotFoundError, ConflictError."""
        row = self._open(venue, number)
        course = taken_back(course_of(row))
        self._stand_at(row, course)
        know = self._know(row)
        self._store.save(row)
        return self._show(row, know)

    def show_again(self, venue: str, number: int) -> FaultFindingView:
        """Raises NotFoundError, ConflictError and UnavailableError, as `AskService.ask` does."""
        row = self._open(venue, number)
        know = self._know(row)
        question = self._pattern_of(row, know)
        if question is None:
            raise ConflictError("no pattern goes with what is asked now")
        self._asks.ask(row.venue, row.node, question)
        row.shown_at_ms, row.not_shown = self._now_ms(), None
        self._store.save(row)
        return view_of(row, self._tree, know)

    def end(
        self, venue: str, number: int, mended: bool | None, note: str | None, person: str | None
    ) -> FaultFindingView:
        """Raises NotFoundError, ConflictError where it has ended."""
        row = self._open(venue, number)
        row.ended_at_ms, row.ended_by, row.mended, row.note = self._now_ms(), person, mended, note
        self._store.save(row)
        return self.one(venue, number)

    def one(self, venue: str, number: int) -> FaultFindingView:
        """Raises NotFoundError."""
        row = self._store.one(venue, number)
        try:
            know = self._know(row)
        except NotFoundError:
            know = None
        return view_of(row, self._tree, know)

    def listed(
        self, venue: str, node: str | None, ended: bool | None, after: int | None, limit: int
    ) -> list[FaultFindingSummary]:
        """At most `limit`, newest first. Raises NotFoundError for a venue that is not there."""
        self._gathering.check_venue(venue)
        return [summary_of(row) for row in self._store.listed(venue, node, ended, after, limit)]

    def _open(self, venue: str, number: int) -> FaultFinding:
        row = self._store.one(venue, number)
        if row.ended_at_ms is not None:
            raise ConflictError("the search has ended; begin another")
        return row

    def _know(self, row: FaultFinding) -> Knowledge:
        return self._gathering.of(row.venue, row.node, row.channel)

    def _settle(self, row: FaultFinding, course: Course, know: Knowledge) -> Knowledge:
        """Let the hub answer what it knows, and put into the row where that leads."""
        if course.channel is not None and know.channel is None:
            know = self._gathering.of(row.venue, row.node, course.channel)
        course = known_on(self._tree, course, know, self._now_ms())
        self._stand_at(row, course)
        step = standing(self._tree, course, know)
        if isinstance(step, Diagnosis):
            row.diagnosis = diagnosis_of(step, know).model_dump_json()
        return know

    def _stand_at(self, row: FaultFinding, course: Course) -> None:
        row.channel, row.step, row.steps = course.channel, course.step, steps_json(course)
        row.symptom = None if course.symptom is None else course.symptom.value
        row.diagnosis = row.shown_at_ms = row.not_shown = None

    def _show(self, row: FaultFinding, know: Knowledge) -> FaultFindingView:
        """Show the pattern of the question that stands, if it has one; a node that does not is no failure."""
        question = self._pattern_of(row, know)
        if question is not None:
            try:
                self._asks.ask(row.venue, row.node, question)
                row.shown_at_ms = self._now_ms()
            except HubError as error:
                row.not_shown = error.detail[:MAX_REASON]
            self._store.save(row)
        return view_of(row, self._tree, know)

    def _pattern_of(self, row: FaultFinding, know: Knowledge) -> AskTestPattern | None:
        step = standing(self._tree, course_of(row), know)
        if not isinstance(step, Question) or step.shows is None or row.channel is None:
            return None
        return AskTestPattern(kind="test-pattern", channel=row.channel, pattern=step.shows, seconds=PATTERN_S)

    def _now_ms(self) -> int:
        return round(self._clock() * 1_000)

"""Timed takes on the pixels: the real frame loop on a rehearsal board, in simulated time."""

import itertools
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from node_agent.board import RehearsalBoard, capture_file
from node_agent.clock.filter import SUSPECTS_BELIEVED
from node_agent.frame_loop import FrameLoop
from node_agent.inbox import Taken
from node_agent.outputs import CapturedFrame, read_capture
from node_agent.prepared import PreparedRevision
from schemas import Budget, ClockExchange, DesiredBody, TimedTake
from tests.node_agent.documents import body, channel, desired, grant, scene
from tests.node_agent.running_agent import BLUE, GREEN, RED, amps, first_pixel
from tests.node_agent.simulated_time import SimulatedTime

START_S = 1_800_000_000.0
PERIOD_S = 0.04
DAY = (scene("#ff0000", "day"), scene("#00ff00", "evening"), scene("#0000ff", "night"))


def timed(in_s: float, scene: str | None, fade_ms: int = 0) -> TimedTake:
    return TimedTake(at_ms=round((START_S + in_s) * 1_000), scene=scene, fade_ms=fade_ms)


def day(*takes: TimedTake, **changes: Any) -> DesiredBody:  # noqa: ANN401 any field's value
    """Red by choice, until timed takes bring green and blue."""
    base: dict[str, Any] = {"scenes": DAY, "showing": "day", "timetable": takes}
    return body(**(base | changes))


class Rig:
    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.time = SimulatedTime(START_S)
        self.taken: list[Taken] = []
        self.loop = FrameLoop(
            self.time.clock, RehearsalBoard(folder), self.taken.append, lambda _number: None, self.time.changed
        )
        self.loop.obey(grant())

    def take(self, revision: int, content: DesiredBody, in_s: float = 0.0, fade_s: float = 0.0) -> None:
        self.loop.take(PreparedRevision(desired(revision, content)), START_S + in_s, fade_s)

    def run_until(self, in_s: float) -> None:
        self.time.run_until(START_S + in_s)

    def frames(self) -> dict[float, CapturedFrame]:
        """By seconds from the start."""
        frames = read_capture(capture_file(self.folder, 1))
        return {round(frame.show_time_s - START_S, 6): frame for frame in frames}

    def colours(self) -> list[tuple[float, tuple[int, ...]]]:
        """Each colour of the first pixel with the time of its first frame."""
        lit = [(in_s, first_pixel(frame)) for in_s, frame in self.frames().items()]
        return lit[:1] + [later for earlier, later in itertools.pairwise(lit) if earlier[1] != later[1]]

    def step_clock(self, by_s: float) -> None:
        clock = self.time.clock
        node_ms, show_ms = clock.node_ms(), (clock.show_s() + by_s) * 1_000
        for _ in range(SUSPECTS_BELIEVED):
            clock.answered(show_ms, node_ms, node_ms)
            clock.complete(ClockExchange(t1_ms=show_ms, t2_ms=node_ms, t3_ms=node_ms, t4_ms=show_ms))


@pytest.fixture
def make(tmp_path: Path) -> Iterator[Callable[[], Rig]]:
    rigs: list[Rig] = []

    def another() -> Rig:
        """On folders of their own."""
        folder = tmp_path / str(len(rigs))
        folder.mkdir()
        rigs.append(Rig(folder))
        return rigs[-1]

    yield another
    for rig in rigs:
        rig.loop.stop()


@pytest.fixture
def rig(make: Callable[[], Rig]) -> Rig:
    made = make()
    made.loop.start()
    return made


def test_each_timed_take_starts_to_the_moment_and_no_frame_of_the_old_grid_is_on_the_wire_then(rig: Rig) -> None:
    """300 pixels hold the wire for about 9 ms; the takes come 4 and 1 ms after a frame would be due."""
    moments = (0.0, 1.004, 2.485, 3.7)
    takes = (timed(1.004, "evening"), timed(2.485, "night"), timed(3.7, None))
    rig.take(1, day(*takes, channels=(channel(pixels=300),)))
    rig.run_until(4.5)
    assert rig.colours() == list(zip(moments, (RED, GREEN, BLUE, (0, 0, 0, 0)), strict=True))
    assert [taken.shown.scene for taken in rig.taken] == ["day", "evening", "night", None]
    assert [taken.show_s - START_S for taken in rig.taken] == pytest.approx(moments)
    assert rig.loop.figures.interval().late_frames == 0
    frames = rig.frames()
    for in_s in frames:
        slot = (in_s - max(at_s for at_s in moments if at_s <= in_s)) / PERIOD_S
        assert slot == pytest.approx(round(slot), abs=1e-3)
    assert min(later - earlier for earlier, later in itertools.pairwise(frames)) > 0.009


def test_timed_take_fades_from_what_showed_in_linear_light(rig: Rig) -> None:
    rig.take(1, day(timed(1.0, "night", fade_ms=1_000)))
    rig.run_until(3.0)
    for in_s, frame in rig.frames().items():
        share = min(max(in_s - 1.0, 0.0), 1.0)
        red, _, blue, _ = first_pixel(frame)
        assert (red / 255, blue / 255) == pytest.approx((1 - share, share), abs=0.03)


def test_take_by_a_person_holds_until_the_next_timed_take(rig: Rig) -> None:
    takes = (timed(1.0, "evening"), timed(3.0, "night"))
    rig.take(1, day(*takes))
    rig.run_until(1.5)
    rig.take(2, day(*takes, showing="day", showing_since_ms=round((START_S + 1.5) * 1_000)), in_s=2.0)
    rig.run_until(4.0)
    assert rig.colours() == [(0.0, RED), (1.0, GREEN), (2.0, RED), (3.0, BLUE)]


def test_timed_take_between_a_persons_decision_and_its_take_wins_at_the_take(rig: Rig) -> None:
    takes = (timed(1.0, "night"),)
    rig.take(1, day(*takes))
    rig.run_until(0.5)
    chosen = day(*takes, showing="evening", showing_since_ms=round((START_S + 0.5) * 1_000))
    rig.take(2, chosen, in_s=1.5, fade_s=1.0)
    rig.run_until(3.0)
    assert rig.colours() == [(0.0, RED), (1.0, BLUE)]


def test_board_that_starts_in_the_middle_of_a_timed_fade_shows_what_its_neighbour_does(
    make: Callable[[], Rig],
) -> None:
    content = day(timed(-30.0, "evening"), timed(1.0, "night", fade_ms=2_000))
    steady, cut = make(), make()
    steady.loop.start(PreparedRevision(desired(1, content)), START_S - 600.0)
    steady.run_until(4.0)
    cut.time.now_s += 1.8  # no power until then
    cut.loop.start(PreparedRevision(desired(1, content)), START_S - 600.0)
    cut.run_until(4.0)
    neighbour = steady.frames()
    assert len(cut.frames()) > 50
    for in_s, frame in cut.frames().items():
        assert frame.data == neighbour[in_s].data
    assert [taken.shown.scene for taken in cut.taken] == ["night"]


def test_late_revision_joins_a_timed_fade_in_phase(make: Callable[[], Rig]) -> None:
    content = day(timed(1.0, "night", fade_ms=2_000))
    steady, late = make(), make()
    for each in (steady, late):
        each.loop.start()
        each.take(1, day(), in_s=0.0)
        each.run_until(0.5)
    steady.take(2, content, in_s=0.6)
    steady.run_until(4.0)
    late.run_until(1.7)
    late.take(2, content, in_s=0.6)
    late.run_until(4.0)
    after = {in_s: frame for in_s, frame in late.frames().items() if in_s > 1.75}
    assert len(after) > 50
    for in_s, frame in after.items():
        assert frame.data == steady.frames()[in_s].data


@pytest.mark.parametrize("budget_a", [3.2, 0.5])
def test_new_revision_over_the_same_scene_cannot_be_seen_not_even_in_a_fade_or_under_the_limiter(
    make: Callable[[], Rig], budget_a: float
) -> None:
    budgets = (Budget(supply="supply-1", budget_a=budget_a),)
    white = (scene("#ffffff", "day"), scene("#804020", "evening"), *DAY[2:])
    first = day(timed(1.0, "evening", fade_ms=2_000), budgets=budgets, scenes=white)
    renewed = first.model_copy(update={"timetable": (*first.timetable, timed(60.0, "night"))})
    left_alone, refreshed = make(), make()
    for each in (left_alone, refreshed):
        each.loop.start()
        each.take(1, first)
    refreshed.run_until(1.4)
    for revision, in_s in ((2, 1.8), (3, 3.4), (4, 4.0)):
        refreshed.take(revision, renewed, in_s=in_s)
        refreshed.run_until(in_s + 0.1)
    for each in (left_alone, refreshed):
        each.run_until(6.0)
    # The grid of frames begins anew at each take: colours are compared by time, between the frames beside it.
    plain = left_alone.frames()
    times = np.array(list(plain))
    light = np.array([frame.decode().codes.sum() for frame in plain.values()], dtype=float)
    seen = refreshed.frames()
    assert {frame.revision for frame in seen.values()} == {1, 2, 3, 4}
    step = np.abs(np.diff(light[1:])).max()
    for in_s, frame in seen.items():
        assert frame.decode().codes.sum() == pytest.approx(np.interp(in_s, times, light), abs=step + 30)
        assert amps(frame) <= budget_a
    gaps = [later - earlier for earlier, later in itertools.pairwise(seen)]
    assert max(gaps) < 2 * PERIOD_S


def test_take_of_the_same_scene_by_time_begins_nothing_anew_but_is_told(rig: Rig) -> None:
    rig.take(1, day(timed(1.0, "night", fade_ms=1_000), timed(1.5, "night", fade_ms=5_000)))
    rig.run_until(3.0)
    frames = rig.frames()
    assert first_pixel(frames[min(in_s for in_s in frames if in_s >= 2.0)]) == BLUE
    assert [taken.shown.by.at_ms for taken in rig.taken if taken.shown.by] == [
        round((START_S + at_s) * 1_000) for at_s in (1.0, 1.5)
    ]


def test_show_time_that_leaps_leads_to_the_scene_of_its_moment_in_either_direction(rig: Rig) -> None:
    rig.take(1, day(timed(100.0, "evening"), timed(200.0, "night")))
    rig.run_until(1.0)
    rig.step_clock(+250.0)
    rig.run_until(252.0)
    assert rig.taken[-1].shown.scene == "night"
    rig.step_clock(-130.0)
    rig.run_until(123.0)
    assert rig.taken[-1].shown.scene == "evening"
    rig.step_clock(-60.0)
    rig.run_until(101.0)
    assert [taken.shown.scene for taken in rig.taken] == ["day", "night", "evening", "day", "evening"]
    assert first_pixel(list(rig.frames().values())[-1]) == GREEN


def test_scene_that_was_held_shows_until_a_take_that_power_failed_before(make: Callable[[], Rig]) -> None:
    rig = make()
    rig.loop.start(PreparedRevision(desired(1, day())), START_S - 60.0)
    rig.take(2, day(showing="night"), in_s=3.0)
    rig.run_until(4.0)
    assert [colour for _, colour in rig.colours()] == [RED, BLUE]
    assert rig.colours()[0][0] < 2 * PERIOD_S
    assert rig.colours()[1][0] == 3.0


def test_more_scenes_than_the_renderer_keeps_are_each_ready_for_their_take(rig: Rig) -> None:
    colours = [f"#{number:02x}0000" for number in range(10, 210, 10)]
    scenes = tuple(scene(colour, f"scene-{number}") for number, colour in enumerate(colours))
    takes = tuple(timed(1.0 + number, each.id) for number, each in enumerate(scenes))
    rig.take(1, body(scenes=scenes, showing=None, timetable=takes))
    rig.run_until(len(scenes) + 2)
    assert [in_s for in_s, _ in rig.colours()[1:]] == [1.0 + number for number in range(len(scenes))]
    assert [taken.shown.scene for taken in rig.taken] == [None, *(each.id for each in scenes)]

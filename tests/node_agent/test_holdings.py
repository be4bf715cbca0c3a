"""What a node holds: the moments between staging, taking and calling off, and after damage or a move."""

import logging
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from node_agent.board import RehearsalBoard, capture_file
from node_agent.clock import ShowClock
from node_agent.frame_loop import FrameLoop
from node_agent.holdings import Holdings
from node_agent.inbox import Taken
from node_agent.outputs import read_capture
from node_agent.rejections import Rejections
from node_agent.store import SHOWING, Store
from schemas import Desired, DesiredBody, Take, TakeTime, TimedTake
from tests.conftest import NODES, VENUE
from tests.node_agent.documents import body, channel, desired, scene
from tests.processes import wait_until


class Rig:
    """Holdings over a real store and a running frame loop; takes are told to them when the test says so."""

    def __init__(self, folder: Path, outputs: int = 4) -> None:
        self.folder = folder
        self.clock = ShowClock()
        self.taken: list[Taken] = []
        board = RehearsalBoard(folder / "capture", outputs=outputs)
        self.frames = FrameLoop(self.clock, board, self.taken.append, lambda _number: None)
        self.store = Store(folder / "state")
        self.holdings = Holdings(VENUE, NODES[0], self.store, board, self.clock, self.frames, Rejections())
        (folder / "capture").mkdir(exist_ok=True)
        self.holdings.restore()

    def receive(self, document: Desired) -> None:
        self.holdings.receive(document.model_dump_json().encode())

    def hold(self, document: Desired) -> None:
        """As if it had been taken before the power went."""
        self.store.take(document)

    def now(self, in_s: float = 0.0) -> TakeTime:
        return TakeTime(at_ms=round((self.clock.show_s() + in_s) * 1_000))

    def tell_taken(self) -> None:
        wait_until(lambda: bool(self.taken), 5, "a first frame")
        self.holdings.taken(self.taken.pop(0))

    def on_the_pixels(self) -> int | None:
        path = capture_file(self.folder / "capture", 1)
        frames = list(read_capture(path)) if path.exists() else []
        return frames[-1].revision if frames else None


Start = Callable[..., Rig]


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Start]:
    running: list[Rig] = []

    def make(outputs: int = 4) -> Rig:
        for rig in running:
            rig.frames.stop()
        running.append(Rig(tmp_path, outputs))
        return running[-1]

    yield make
    for rig in running:
        rig.frames.stop()


def _by_night(at_ms: int) -> DesiredBody:
    scenes = (scene(), scene("#0000ff", "night"))
    return body(scenes=scenes, timetable=(TimedTake(at_ms=at_ms, scene="night"),))


def _showing(start: Start, revision: int = 1) -> Rig:
    rig = start()
    rig.receive(desired(revision, take=rig.now()))
    rig.tell_taken()
    return rig


def test_take_that_comes_before_its_document_waits_for_it(start: Start) -> None:
    rig = start()
    rig.holdings.take(Take(revision=3, at_ms=rig.now(in_s=1.0).at_ms))
    rig.receive(desired(3))
    rig.tell_taken()
    assert rig.holdings.showing is not None
    assert rig.holdings.showing.revision == 3


def test_take_of_an_earlier_batch_takes_no_document_that_comes_after_it(start: Start) -> None:
    rig = _showing(start)
    past = rig.now(in_s=-0.001)
    rig.holdings.take(Take(revision=2, at_ms=past.at_ms))
    rig.receive(desired(2, body()))
    assert rig.holdings.staged is not None
    assert rig.store.staged is not None
    assert rig.store.staged.take is None


def test_take_of_a_revision_that_shows_or_is_older_does_nothing(start: Start) -> None:
    rig = _showing(start, 3)
    for revision in (3, 2):
        rig.holdings.take(Take(revision=revision, at_ms=rig.now().at_ms))
    rig.receive(desired(4))
    assert rig.holdings.staged is not None
    assert not rig.taken


def test_revision_called_off_in_the_moment_of_its_take_does_not_stay_on_the_pixels(start: Start) -> None:
    rig = _showing(start)
    rig.receive(desired(2, body("#00ff00"), take=rig.now()))
    wait_until(lambda: bool(rig.taken), 5)
    rig.receive(desired(1))
    rig.tell_taken()
    wait_until(lambda: rig.on_the_pixels() == 1, 5, "what is in force to show again")
    assert rig.holdings.showing is not None
    assert rig.holdings.showing.revision == 1
    assert rig.holdings.staged is None


def test_revision_followed_in_the_moment_of_its_take_counts_as_taken(start: Start) -> None:
    rig = _showing(start)
    rig.receive(desired(2, take=rig.now()))
    wait_until(lambda: bool(rig.taken), 5)
    rig.receive(desired(3))
    rig.tell_taken()
    assert (rig.holdings.showing, rig.holdings.staged) != (None, None)
    again = Store(rig.folder / "state")
    assert again.showing is not None
    assert again.staged is not None
    assert (again.showing.revision, again.staged.revision) == (2, 3)


def test_staged_revision_that_was_never_taken_does_not_show_after_a_restart(start: Start) -> None:
    start().receive(desired(1))
    rig = start()
    assert rig.holdings.staged is not None
    assert rig.frames.period_s is None
    assert not rig.taken


def test_staged_revision_stands_in_for_one_that_was_damaged_without_counting_as_showing(start: Start) -> None:
    rig = _showing(start)
    rig.receive(desired(5, body("#00ff00")))
    (rig.folder / "state" / SHOWING).write_bytes(b"worn out")
    rig = start()
    wait_until(lambda: rig.on_the_pixels() == 5, 5)
    rig.tell_taken()
    assert rig.holdings.showing is None
    rig.receive(desired(1, take=rig.now()))
    rig.tell_taken()
    wait_until(lambda: rig.on_the_pixels() == 1, 5, "the older revision that the hub holds in force")


def test_timed_take_changes_scene_and_moment_of_what_is_reported_and_keeps_the_revision(start: Start) -> None:
    rig = start()
    at_ms = rig.now(in_s=0.6).at_ms
    rig.receive(desired(1, _by_night(at_ms), take=rig.now()))
    rig.tell_taken()
    assert rig.holdings.scene == "evening"
    rig.tell_taken()
    assert (rig.holdings.scene, rig.holdings.showing and rig.holdings.showing.revision) == ("night", 1)
    assert rig.holdings.taken_at_ms == pytest.approx(at_ms, abs=250)
    assert rig.holdings.taken_at_ms is not None
    assert rig.holdings.taken_at_ms >= at_ms


def test_timed_take_that_came_while_the_power_was_off_shows_from_the_start_as_of_its_time(start: Start) -> None:
    rig = start()
    taken, timed = rig.now(in_s=-7_200), rig.now(in_s=-60)
    rig.hold(desired(1, _by_night(timed.at_ms), take=taken))
    rig = start()
    assert (rig.holdings.scene, rig.holdings.taken_at_ms) == ("night", timed.at_ms)
    rig.tell_taken()
    assert (rig.holdings.scene, rig.holdings.taken_at_ms) == ("night", timed.at_ms)


def test_timetable_that_is_used_up_keeps_its_last_scene_and_says_so(
    start: Start, caplog: pytest.LogCaptureFixture
) -> None:
    rig = start()
    rig.hold(desired(7, _by_night(rig.now(in_s=-3_600).at_ms), take=rig.now(in_s=-7_200)))
    with caplog.at_level(logging.WARNING):
        rig = start()
    assert rig.holdings.scene == "night"
    assert "the timetable of revision 7 is used up: scene night stays until the hub sends more" in caplog.text


def test_take_still_to_come_leaves_the_board_lit_meanwhile_after_a_power_cut(start: Start) -> None:
    rig = _showing(start)
    rig.receive(desired(2, body("#00ff00"), take=rig.now(in_s=3_600)))
    rig = start()
    wait_until(lambda: rig.on_the_pixels() == 1, 5, "what is in force to show")
    assert rig.holdings.staged is not None


def test_state_of_another_node_does_not_show(start: Start) -> None:
    rig = start()
    rig.store.take(desired(9, node=NODES[1]))
    rig = start()
    assert rig.holdings.showing is None
    assert rig.frames.period_s is None


def test_held_revision_that_the_board_can_no_longer_show_is_refused_at_the_start_with_the_reason(start: Start) -> None:
    rig = start()
    rig.receive(desired(2, body(channels=(channel(1), channel(4))), take=rig.now()))
    rig.tell_taken()
    rig = start(outputs=2)
    assert rig.holdings.showing is None
    assert rig.holdings.refusal is not None
    assert rig.holdings.refusal.field == "body.channels.1.number"


def test_revision_that_cannot_be_kept_is_refused(start: Start) -> None:
    rig = _showing(start)
    (rig.folder / "state" / ".staged.json.writing").mkdir()
    rig.receive(desired(2))
    assert rig.holdings.refusal is not None
    assert rig.holdings.refusal.field == "state"
    assert rig.holdings.staged is None

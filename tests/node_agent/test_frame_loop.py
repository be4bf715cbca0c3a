"""The frame loop in its own thread, on a rehearsal board and the real clock."""

import itertools
import logging
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from node_agent import data_lines
from node_agent.board import RehearsalBoard, capture_file
from node_agent.clock import ShowClock
from node_agent.frame_loop import FrameLoop
from node_agent.inbox import Taken
from node_agent.outputs import CapturedFrame, read_capture
from node_agent.overlay import Identify
from node_agent.prepared import PreparedRevision
from schemas import ClockExchange, DesiredBody
from tests.node_agent.documents import body, channel, desired, grant, zone
from tests.node_agent.running_agent import amps
from tests.processes import wait_until

PERIOD_S = 0.04


class Rig:
    """A frame loop and what it wrote."""

    def __init__(self, folder: Path, *, blocks: bool = False, granted: bool = True) -> None:
        self.folder = folder
        self.clock = ShowClock()
        self.taken: list[Taken] = []
        self.on_wires: list[int] = []
        board = RehearsalBoard(folder, blocks=blocks)
        self.loop = FrameLoop(self.clock, board, self.taken.append, self.on_wires.append)
        if granted:
            self.loop.obey(grant())

    def frames(self, number: int = 1) -> list[CapturedFrame]:
        path = capture_file(self.folder, number)
        return list(read_capture(path)) if path.is_file() else []

    def take(self, revision: int, content: DesiredBody, in_s: float = 0.1, fade_s: float = 0.0) -> float:
        at_s = self.clock.show_s() + in_s
        self.loop.take(PreparedRevision(desired(revision, content)), at_s, fade_s)
        return at_s

    def step_clock(self, by_s: float) -> None:
        node_ms = self.clock.node_ms()
        show_ms = (self.clock.show_s() + by_s) * 1_000
        self.clock.answered(show_ms, node_ms, node_ms)
        self.clock.complete(ClockExchange(t1_ms=show_ms, t2_ms=node_ms, t3_ms=node_ms, t4_ms=show_ms))


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    made = Rig(tmp_path)
    made.loop.start()
    yield made
    made.loop.stop()


def test_every_take_starts_to_the_moment_and_no_frame_of_the_old_grid_is_on_the_wire_then(rig: Rig) -> None:
    """300 pixels hold the wire for about 9 ms; takes fall anywhere within the period of 40 ms.

    A machine that is busy elsewhere may delay a take; it cannot make one early, and not most of them late.
    """
    content = body(channels=(channel(pixels=300),))
    wire_s = PreparedRevision(desired(1, content)).wire_time_s
    assert wire_s == pytest.approx(0.00905, rel=0.02)
    takes = [rig.take(1, content)]
    for revision in range(2, 14):
        wait_until(lambda revision=revision: len(rig.taken) == revision - 1, 5)  # type: ignore[misc]
        takes.append(rig.take(revision, content, in_s=0.1 + revision * 0.0033))
    wait_until(lambda: len(rig.taken) == len(takes), 5)
    assert all(taken.show_s >= at_s for taken, at_s in zip(rig.taken, takes, strict=True))
    to_the_moment = [taken.show_s == at_s for taken, at_s in zip(rig.taken, takes, strict=True)]
    assert sum(to_the_moment) > len(takes) / 2
    frames = rig.frames()
    for earlier, later in itertools.pairwise(frames):
        assert later.show_time_s - earlier.show_time_s > wire_s * 0.999


def test_take_that_is_past_starts_now_on_its_own_grid(rig: Rig) -> None:
    at_s = rig.take(1, body(), in_s=-100.0)
    wait_until(lambda: len(rig.frames()) > 5, 5)
    first, *others = rig.frames()
    assert first.show_time_s - at_s == pytest.approx(100.0, abs=0.5)
    for frame in others:
        slot = (frame.show_time_s - at_s) / PERIOD_S
        assert slot == pytest.approx(round(slot), abs=1e-3)


def test_take_called_off_before_its_time_never_shows(rig: Rig) -> None:
    rig.take(1, body("#ff0000"), in_s=0.0)
    rig.take(2, body("#00ff00"), in_s=0.3)
    rig.loop.cancel_take()
    end_s = rig.clock.show_s() + 0.5
    rig.take(3, body("#0000ff"), in_s=0.5)
    wait_until(lambda: len(rig.taken) > 0 and rig.taken[-1].revision == 3, 5)
    assert rig.clock.show_s() >= end_s
    assert {frame.revision for frame in rig.frames()} <= {1, 3}


@pytest.mark.parametrize("step_s", [-3_600.0, 3_600.0])
def test_frames_go_on_through_a_step_of_show_time_in_either_direction(rig: Rig, step_s: float) -> None:
    rig.take(1, body(), in_s=0.0)
    wait_until(lambda: len(rig.frames()) > 5, 5)
    rig.step_clock(step_s)
    stepped = len(rig.frames())
    wait_until(lambda: len(rig.frames()) > stepped + 20, 5)
    frames = rig.frames()
    gaps = [later.written_at_s - earlier.written_at_s for earlier, later in itertools.pairwise(frames)]
    assert max(gaps) < 1.0
    assert frames[-1].show_time_s - frames[-1].written_at_s == pytest.approx(step_s, abs=0.5)


def test_figures_tell_frames_rate_and_draw(rig: Rig) -> None:
    rig.take(1, body("#ffffff"), in_s=0.0)
    wait_until(lambda: len(rig.frames()) > 25, 5)
    figures = rig.loop.figures.interval()
    assert figures.frames >= 25
    assert figures.frame_rate_hz == pytest.approx(25, rel=0.3)
    assert figures.render_ms > 0
    (supply,) = figures.supplies
    assert 0 < supply.amps <= supply.highest_a <= 3.2


def test_overlay_keeps_to_the_budget_and_ends(rig: Rig) -> None:
    rig.take(1, body("#000000", budgets=()), in_s=0.0)
    wait_until(lambda: len(rig.taken) == 1, 5)
    rig.loop.overlay(Identify(seconds=1.5))
    wait_until(lambda: any(f.decode().codes.any() for f in rig.frames()), 5)
    wait_until(lambda: not rig.frames()[-1].decode().codes.any() and len(rig.frames()) > 30, 5)
    (supply,) = rig.loop.figures.interval().supplies
    assert supply.highest_a <= 0.6, "the safe budget where none is known"


def test_stopping_leaves_every_channel_dark(tmp_path: Path) -> None:
    rig = Rig(tmp_path, blocks=True)
    rig.loop.start()
    two = body("#ffffff", channels=(channel(1), channel(2)), zones=(zone(), zone(channel_number=2, id="gable")))
    rig.take(1, two, in_s=0.0)
    wait_until(lambda: len(rig.frames(1)) > 3 and len(rig.frames(2)) > 3, 5)
    assert rig.frames(1)[-1].decode().codes.any()
    rig.loop.stop()
    for number in (1, 2):
        assert not rig.frames(number)[-1].decode().codes.any()
    assert not [thread.name for thread in threading.enumerate() if thread.name.startswith("channel-")]


def test_channel_that_fails_is_told_once_and_opened_again_while_the_others_go_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(data_lines, "REOPEN_AFTER_S", 0.2)
    broken = capture_file(tmp_path, 1)
    broken.mkdir()
    rig = Rig(tmp_path)
    rig.loop.start()
    with caplog.at_level(logging.INFO):
        rig.take(1, body(channels=(channel(1), channel(2))), in_s=0.0)
        begun_s = time.monotonic()
        wait_until(lambda: len(rig.frames(2)) > 25 and time.monotonic() - begun_s > 0.7, 5)
        broken.rmdir()
        wait_until(lambda: len(rig.frames(1)) > 3, 5)
    rig.loop.stop()
    assert len([record for record in caplog.records if "channel 1 is dark" in record.message]) == 1
    assert len([record for record in caplog.records if "channel 1 works again" in record.message]) == 1


def test_nothing_lights_before_a_grant_and_a_lower_one_holds_from_the_very_next_frame(tmp_path: Path) -> None:
    rig = Rig(tmp_path, granted=False)
    rig.loop.start()
    rig.take(1, body("#ffffff"), in_s=0.0)
    wait_until(lambda: len(rig.frames()) > 5, 5)
    assert not any(frame.decode().codes.any() for frame in rig.frames())
    rig.loop.obey(grant(1, 1.5))
    wait_until(lambda: 1 in rig.on_wires and amps(rig.frames()[-1]) > 1.2, 8)
    rig.loop.obey(grant(2, 0.4))
    wait_until(lambda: 2 in rig.on_wires, 5)
    reached = len(rig.frames())
    wait_until(lambda: len(rig.frames()) > reached + 5, 5)
    rig.loop.stop()
    frames = rig.frames()
    assert max(amps(frame) for frame in frames) <= 1.5
    lowered = next(n for n, frame in enumerate(frames) if amps(frame) > 1.2)
    falls = next(n for n in range(lowered, len(frames)) if amps(frames[n]) <= 0.4)
    assert all(amps(frame) <= 0.4 for frame in frames[falls:])


def test_grant_is_on_the_wires_only_once_every_data_line_has_sent(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(data_lines, "REOPEN_AFTER_S", 0.2)
    broken = capture_file(tmp_path, 1)
    broken.mkdir()
    rig = Rig(tmp_path)
    rig.loop.start()
    rig.take(1, body(channels=(channel(1), channel(2))), in_s=0.0)
    wait_until(lambda: len(rig.frames(2)) > 10, 5)
    assert 1 not in rig.on_wires
    broken.rmdir()
    wait_until(lambda: 1 in rig.on_wires, 5)
    rig.loop.stop()


def test_grant_waits_for_a_line_that_left_the_wiring_and_could_not_be_darkened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(data_lines, "REOPEN_AFTER_S", 0.2)
    rig = Rig(tmp_path)
    rig.loop.start()
    (tmp_path / "channel-2.capture").mkdir()
    rig.take(1, body("#ffffff", channels=(channel(1), channel(2))), in_s=0.0)
    wait_until(lambda: len(rig.frames(1)) > 5, 5)
    rig.take(2, body("#ffffff"), in_s=0.0)
    wait_until(lambda: rig.taken[-1].revision == 2, 5)
    shown = len(rig.frames(1))
    wait_until(lambda: len(rig.frames(1)) > shown + 10, 5)
    assert 1 not in rig.on_wires
    (tmp_path / "channel-2.capture").rmdir()
    wait_until(lambda: 1 in rig.on_wires, 5)
    assert not rig.frames(2)[-1].decode().codes.any()
    rig.loop.stop()


def test_line_that_was_lit_before_a_restart_goes_dark_when_another_wiring_is_taken_at_once(tmp_path: Path) -> None:
    rig = Rig(tmp_path)
    two = PreparedRevision(desired(1, body("#ffffff", channels=(channel(1), channel(2)))))
    rig.loop.start(two, rig.clock.show_s() - 10)
    rig.take(2, body("#ffffff"), in_s=-1.0)
    wait_until(lambda: any(taken.revision == 2 for taken in rig.taken), 5)
    wait_until(lambda: bool(rig.frames(2)), 5)
    assert not rig.frames(2)[-1].decode().codes.any()
    rig.loop.stop()

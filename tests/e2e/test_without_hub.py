"""Boards by themselves, with neither hub nor network: two days in simulated time, a minute in real processes."""

import itertools
import math
import sys
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from hub.app import Hub
from hub.desired.choices import Choices, Chosen
from hub.desired.document import compile_documents, desired_payload
from hub.running import RunningHub
from hub.settings import Settings
from hub.timetable import timed_takes
from node_agent.agent import Agent
from node_agent.board import RehearsalBoard, capture_file
from node_agent.frame_loop import FrameLoop
from node_agent.inbox import Stopping
from node_agent.outputs import CapturedFrame, read_capture
from node_agent.store import Store
from schemas import Desired, TakeTime, TimedTake, TimetableEntry, Venue
from tests.brokers import Broker, node_credential
from tests.conftest import NODES, VENUE
from tests.hub.desired.venues import row_document, venue_from
from tests.node_agent.running_agent import first_pixel, hub_side
from tests.node_agent.simulated_time import SimulatedTime
from tests.processes import RealProcess, free_port, wait_until

NODE = NODES[0]
COLOURS = {"day": "#ff0000", "evening": "#00ff00", "night": "#0000ff", "small-hours": "#ffff00"}
CODES = {"day": (255, 0, 0, 0), "evening": (0, 255, 0, 0), "night": (0, 0, 255, 0), "small-hours": (255, 255, 0, 0)}
FADES_S = {"day": 3.0, "evening": 3.0, "night": 2.0, "small-hours": 0.0}


@pytest.mark.timeout(300)
def test_48_hours_without_a_hub_keep_every_take_across_the_end_of_summer_time_and_its_return_takes_nothing_anew(
    broker: Broker, tmp_path: Path
) -> None:
    """Saturday to Monday in Vienna, in simulated time; 02:30 comes twice on Sunday and means the first.

    Moments by hand from the IANA rules: UTC + 2 h until 2026-10-25 01:00 UTC, UTC + 1 h from then on.
    """
    start_s, taken_s = _utc(24, 8, 0), _utc(24, 8, 0) + 1.37
    expected = {
        taken_s: "day",
        _utc(24, 17, 30): "evening",
        _utc(24, 21, 0): "night",
        _utc(25, 0, 30): "small-hours",
        _utc(25, 5, 0): "day",
        _utc(25, 18, 30): "evening",
        _utc(25, 22, 0): "night",
        _utc(26, 1, 30): "small-hours",
        _utc(26, 5, 0): "day",
    }
    simulated = SimulatedTime(start_s)
    with _board(broker, tmp_path, simulated) as agent:
        with hub_side(broker) as hub:
            wait_until(hub.is_online, 15)
            hub.publish_desired(_document(1, start_s, taken_s))
            wait_until(lambda: hub.has_staged(1) and hub.holds(1), 10)
            simulated.run_until(start_s + 5)
            wait_until(lambda: hub.shows(1), 10)
        broker.kill()
        simulated.run_until(start_s + 48 * 3_600, deadline_s=150)
        alone = _frames(tmp_path)
        assert {frame.revision for frame in alone} == {1}
        _hold_each_scene_to_its_hours(alone, expected, start_s + 48 * 3_600)

        broker.start()
        with hub_side(broker) as hub:
            wait_until(lambda: hub.shows(1), 30)
            reported = hub.reported()
            assert reported is not None
            assert (reported.scene, reported.taken_at_ms) == ("day", round(_utc(26, 5, 0) * 1_000))
            hub.publish_desired(_document(1, start_s, taken_s))
            simulated.run_until(start_s + 48 * 3_600 + 10)
            assert agent.inbox.dropped == 0
            refreshed = _document(2, simulated.clock.show_s(), simulated.clock.show_s() + 1.3)
            assert refreshed.sha256 != _document(1, start_s, taken_s).sha256
            hub.publish_desired(refreshed)
            wait_until(lambda: hub.has_staged(2), 10)
            simulated.run_until(start_s + 48 * 3_600 + 20)
            wait_until(lambda: hub.shows(2), 10)
    back = [frame for frame in _frames(tmp_path) if frame.show_time_s >= alone[-1].show_time_s]
    back = back[:-1]  # the board goes dark as its agent ends
    assert [frame.revision for frame in back] == sorted(frame.revision or 0 for frame in back)
    assert {frame.revision for frame in back} == {1, 2}
    assert {frame.data for frame in back} == {alone[-1].data}, "nothing to be seen"
    of_first = [frame.show_time_s for frame in back if frame.revision == 1]
    assert [later - earlier for earlier, later in itertools.pairwise(of_first)] == [1.0] * (len(of_first) - 1)
    assert max(later.show_time_s - earlier.show_time_s for earlier, later in itertools.pairwise(back)) < 2


def test_boards_take_what_was_promised_while_hub_and_broker_are_gone_and_one_loses_power_and_the_hub_changes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Real processes in real time; the second board starts again as after a power cut, its interpreter too."""
    settings = Settings(data_dir=tmp_path / "hub", broker_port=free_port(), telemetry_interval_s=0.5)
    with ExitStack() as boards:
        with _running_hub(settings) as hub:
            hub.inventory.load(venue_from(_row()))
            for node in _ROW:
                credential = tmp_path / f"{node}.json"
                credential.touch(mode=0o600)
                credential.write_text(hub.credentials.issue(VENUE, node).model_dump_json())
            steady, cut = (_row_board(node, tmp_path) for node in _ROW)
            boards.callback(steady.stop)
            wait_until(lambda: _scenes(hub) == {"day"}, 30, "the opening scene on both boards")
            now_ms = round(time.time() * 1_000)
            evening = TimedTake(at_ms=now_ms + 4_000, scene="evening", fade_ms=400)
            night = TimedTake(at_ms=now_ms + 12_000, scene="night")
            hub.rollouts.at_once(VENUE, "small-hours", 0, timetable_extra=(evening, night))
            wait_until(lambda: _scenes(hub) == {"small-hours"} and hub.rollouts.idle(VENUE), 10)
        cut.kill()
        wait_until(lambda: time.time() * 1_000 > evening.at_ms, 10, "the evening")
        started_s = time.time()
        cut = _row_board(_ROW[1], tmp_path)
        boards.callback(cut.stop)
        first = wait_until(lambda: next((f for f in _row_frames(_ROW[1], tmp_path, started_s)), None), 10, "a frame")
        with capsys.disabled():
            print(f"\nfirst frame {first.written_at_s - started_s:.2f} s after the start of the agent's process")
        assert first.written_at_s - started_s < 5
        assert first_pixel(first) == CODES["evening"]
        wait_until(lambda: time.time() * 1_000 > night.at_ms + 500, 15, "the night")
        alone = {node: _row_frames(node, tmp_path, 0.0) for node in _ROW}
        for node, takes in ((_ROW[0], (evening, night)), (_ROW[1], (night,))):
            for take in takes:
                begun = next(f for f in alone[node] if f.show_time_s * 1_000 > take.at_ms - 0.01)
                assert begun.show_time_s * 1_000 - take.at_ms < 250, "to the moment, unless the machine was busy"
            assert first_pixel(alone[node][-1]) == CODES["night"]

        with _running_hub(settings) as hub:
            wait_until(lambda: _scenes(hub) == {"night"}, 30, "both boards to be heard again")
            heard_s = time.time()
            wait_until(lambda: time.time() > heard_s + 3 and hub.rollouts.idle(VENUE), 10)
            assert _scenes(hub) == {"night"}
        for node in _ROW:
            since = _row_frames(node, tmp_path, alone[node][-1].written_at_s)
            assert len(since) > 60
            assert {first_pixel(frame) for frame in since} == {CODES["night"]}
            faded_s = (evening.at_ms + evening.fade_ms) / 1_000 + 0.1
            lit = {first_pixel(frame) for frame in _row_frames(node, tmp_path, faded_s)}
            assert lit == {CODES["evening"], CODES["night"]}, "never dark, and nothing of before"


_ROW = ("bay-0001", "bay-0002")


def _row() -> dict[str, Any]:
    document = row_document(nodes=2, pixels=10)
    for node in document["nodes"]:
        node["frame_rate_limit_hz"] = 20.0
    document["scenes"] = [_scene(name, colour, "band") for name, colour in COLOURS.items()]
    document["opening_scene"] = "day"
    return document


def _row_board(node: str, folder: Path) -> RealProcess:
    command: list[str | Path] = [sys.executable, "-c", "from node_agent.cli import main; raise SystemExit(main())"]
    command += ["start", "--credential", folder / f"{node}.json"]
    command += ["--state", folder / node / "state", "--capture", folder / node / "capture"]
    return RealProcess(command, folder / f"{node}.log")


def _row_frames(node: str, folder: Path, since_s: float) -> list[CapturedFrame]:
    path = capture_file(folder / node / "capture", 1)
    return [frame for frame in read_capture(path) if frame.written_at_s >= since_s]


def _scenes(hub: Hub) -> set[str | None]:
    states = hub.node_views.states(VENUE)
    return {state.scene if state.online else None for state in states} if len(states) == len(_ROW) else set()


@contextmanager
def _running_hub(settings: Settings) -> Iterator[Hub]:
    running = RunningHub(settings)
    running.start()
    try:
        yield running.hub
    finally:
        running.stop()


def _utc(day: int, hour: int, minute: int) -> float:
    return datetime(2026, 10, day, hour, minute, tzinfo=UTC).timestamp()


def _venue() -> Venue:
    hours = ("06:00", "19:30", "23:00", "02:30", "06:00")
    entries = [
        TimetableEntry(id=scene, scene=scene, begins=begins, ends=ends, fade_ms=round(FADES_S[scene] * 1_000))
        for scene, (begins, ends) in zip(COLOURS, itertools.pairwise(hours), strict=True)
    ]
    run = {
        "pixel_type": "rgb-5v-nrz800",
        "pixels": 3,
        "pixels_per_m": 30.0,
        "feeds": [{"supply": "supply-1", "wire_mm2": 1.5, "length_m": 2.0}],
    }
    return Venue.model_validate(
        {
            "id": VENUE,
            "title": "Three lamps (invented)",
            "time_zone": "Europe/Vienna",
            "supplies": ({"id": "supply-1", "volts": 5.0, "rated_a": 4.0},),
            "nodes": (
                {
                    "id": NODE,
                    "outputs": 1,
                    "frame_rate_limit_hz": 1.0,
                    "channels": ({"number": 1, "pin": "spidev0.0", "run": run},),
                },
            ),
            "zones": (
                {
                    "id": "front",
                    "spans": ({"node": NODE, "channel": 1, "pixels": 3, "path": ((0.0, 3.0), (0.1, 3.0))},),
                },
            ),
            "scenes": tuple(_scene(name, colour, "front") for name, colour in COLOURS.items()),
            "timetable": entries,
        },
        strict=False,
    )


def _scene(name: str, colour: str, zone: str) -> dict[str, Any]:
    wash = {"zone": zone, "pattern": {"pattern": "wash", "colour": colour}}
    return {"id": name, "title": name.title(), "layers": (wash,)}


def _document(revision: int, from_s: float, taken_s: float) -> Desired:
    """As the hub compiles it at `from_s`: nothing is chosen by hand, the timetable says what is on."""
    venue = _venue()
    choices = Choices(Chosen(None), timetable=timed_takes(venue, round(from_s * 1_000)))
    compiled = compile_documents(venue, choices, 5.0)[NODE]
    take = TakeTime(at_ms=round(taken_s * 1_000))
    return Desired.model_validate_json(desired_payload(VENUE, NODE, revision, compiled, take))


@contextmanager
def _board(broker: Broker, folder: Path, simulated: SimulatedTime) -> Iterator[Agent]:
    (folder / "capture").mkdir()
    agent = Agent(
        node_credential(broker, VENUE, NODE),
        Store(folder / "state"),
        RehearsalBoard(folder / "capture"),
        simulated.clock,
        partial(FrameLoop, changed=simulated.changed),
    )
    thread = threading.Thread(target=agent.run, name="agent")
    thread.start()
    try:
        yield agent
    finally:
        agent.inbox.put(Stopping("the test is over"))
        thread.join(20)
    assert not thread.is_alive()


def _frames(folder: Path) -> list[CapturedFrame]:
    return list(read_capture(capture_file(folder / "capture", 1)))


def _hold_each_scene_to_its_hours(frames: list[CapturedFrame], expected: Mapping[float, str], end_s: float) -> None:
    """Every frame: the first of each scene at its very moment, then one a second; what was fades into what comes."""
    decoded = {frame.data: first_pixel(frame) for frame in {frame.data: frame for frame in frames}.values()}
    lit = iter((frame.show_time_s, decoded[frame.data]) for frame in frames)
    before = (0, 0, 0, 0)
    for (began_s, scene), until_s in zip(expected.items(), [*list(expected)[1:], end_s], strict=True):
        codes, fade_s = CODES[scene], FADES_S[scene] if before != (0, 0, 0, 0) else 0.0
        for number in range(math.ceil(until_s - began_s)):
            show_s, shown = next(lit)
            assert show_s == began_s + number
            if number == 0 < fade_s:
                assert shown == before
            else:
                assert (shown == codes) == (number >= fade_s), f"{scene} after {number} s"
        before = codes
    assert next(lit, None) is None or show_s > end_s - 2

"""A board by itself, with neither hub nor network."""

import itertools
import math
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from hub.desired.choices import Choices, Chosen
from hub.desired.document import compile_documents, desired_payload
from hub.timetable import timed_takes
from node_agent.agent import Agent
from node_agent.board import RehearsalBoard, capture_file
from node_agent.frame_loop import FrameLoop
from node_agent.inbox import Stopping
from node_agent.outputs import CapturedFrame, read_capture
from node_agent.store import Store
from schemas import Desired, TakeTime, TimetableEntry, Venue
from tests.brokers import Broker, node_credential
from tests.conftest import NODES, VENUE
from tests.node_agent.running_agent import first_pixel, hub_side
from tests.node_agent.simulated_time import SimulatedTime
from tests.processes import wait_until

NODE = NODES[0]
COLOURS = {"day": "#ff0000", "evening": "#00ff00", "night": "#0000ff", "small-hours": "#ffff00"}
CODES = {"day": (255, 0, 0, 0), "evening": (0, 255, 0, 0), "night": (0, 0, 255, 0), "small-hours": (255, 255, 0, 0)}
FADES_S = {"day": 3.0, "evening": 3.0, "night": 2.0, "small-hours": 0.0}


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
    time = SimulatedTime(start_s)
    with _board(broker, tmp_path, time) as agent:
        with hub_side(broker) as hub:
            wait_until(hub.is_online, 15)
            hub.publish_desired(_document(1, start_s, taken_s))
            wait_until(lambda: hub.has_staged(1) and hub.holds(1), 10)
            time.run_until(start_s + 5)
            wait_until(lambda: hub.shows(1), 10)
        broker.kill()
        time.run_until(start_s + 48 * 3_600, deadline_s=150)
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
            time.run_until(start_s + 48 * 3_600 + 10)
            assert agent.inbox.dropped == 0
            refreshed = _document(2, time.clock.show_s(), time.clock.show_s() + 1.3)
            assert refreshed.sha256 != _document(1, start_s, taken_s).sha256
            hub.publish_desired(refreshed)
            wait_until(lambda: hub.has_staged(2), 10)
            time.run_until(start_s + 48 * 3_600 + 20)
            wait_until(lambda: hub.shows(2), 10)
    back = [frame for frame in _frames(tmp_path) if frame.show_time_s >= alone[-1].show_time_s]
    back = back[:-1]  # the board goes dark as its agent ends
    assert [frame.revision for frame in back] == sorted(frame.revision or 0 for frame in back)
    assert {frame.revision for frame in back} == {1, 2}
    assert {frame.data for frame in back} == {alone[-1].data}, "nothing to be seen"
    of_first = [frame.show_time_s for frame in back if frame.revision == 1]
    assert [later - earlier for earlier, later in itertools.pairwise(of_first)] == [1.0] * (len(of_first) - 1)
    assert max(later.show_time_s - earlier.show_time_s for earlier, later in itertools.pairwise(back)) < 2


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
            "scenes": tuple(
                {
                    "id": name,
                    "title": name,
                    "layers": ({"zone": "front", "pattern": {"pattern": "wash", "colour": colour}},),
                }
                for name, colour in COLOURS.items()
            ),
            "timetable": entries,
        },
        strict=False,
    )


def _document(revision: int, from_s: float, taken_s: float) -> Desired:
    """As the hub compiles it at `from_s`: nothing is chosen by hand, the timetable says what is on."""
    venue = _venue()
    choices = Choices(Chosen(None), timetable=timed_takes(venue, round(from_s * 1_000)))
    compiled = compile_documents(venue, choices, 5.0)[NODE]
    take = TakeTime(at_ms=round(taken_s * 1_000))
    return Desired.model_validate_json(desired_payload(VENUE, NODE, revision, compiled, take))


@contextmanager
def _board(broker: Broker, folder: Path, time: SimulatedTime) -> Iterator[Agent]:
    (folder / "capture").mkdir()
    agent = Agent(
        node_credential(broker, VENUE, NODE),
        Store(folder / "state"),
        RehearsalBoard(folder / "capture"),
        time.clock,
        partial(FrameLoop, changed=time.changed),
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

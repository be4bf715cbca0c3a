"""What the hub shows of a scene before a take is what its boards then send, byte for byte.

Real agent processes write the bytes of their wires with the show time of each frame; the hub's code that previews,
draws and checks scenes renders, limits and encodes the same instants.
"""

import random
import time
from collections.abc import Iterator, Mapping
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

import pytest

from hub.app import Hub
from hub.desired import compile_bodies
from hub.looks import looks
from hub.rollout.models import RolloutState
from hub.running import RunningHub
from hub.scenes import VenueLights
from hub.settings import Settings
from node_agent.board import capture_file
from node_agent.outputs import encoder_for, read_capture
from schemas import Venue
from tests.e2e.two_boards import EAST, TIGHT_A, VENUE, WEST, two_boards
from tests.processes import free_port, wait_until
from tests.warm_process import WarmProcess

INSTANTS = 100
SHOWN_S = 1.5  # the slower board sends 80 frames a second
Bytes = dict[int, bytes]
"""Of one node's frame, by channel."""


@dataclass(frozen=True, slots=True)
class Shown:
    """A revision that was taken: the scene, and when."""

    revision: int
    scene: str
    take_s: float


class TwoBoards:
    """A running hub with its broker, and the two agents."""

    def __init__(self, folder: Path, parts: ExitStack) -> None:
        settings = Settings(
            data_dir=folder / "hub", broker_port=free_port(), telemetry_interval_s=0.5, broker_host="127.0.0.1"
        )
        running = RunningHub(settings)
        running.start()
        parts.callback(running.stop)
        self.hub: Hub = running.hub
        self.captures = {node: folder / node / "capture" for node in (WEST, EAST)}
        self.hub.inventory.load(two_boards())
        for node, capture in self.captures.items():
            credential = folder / node / "credential.json"
            credential.parent.mkdir()
            credential.touch(mode=0o600)
            credential.write_text(self.hub.credentials.issue(VENUE, node).model_dump_json())
            command: list[str | Path] = ["stringcourse-node", "start", "--credential", credential]
            command += ["--state", folder / node / "state", "--capture", capture]
            agent = WarmProcess(command, folder / node / "agent.log")
            parts.callback(agent.stop)
        wait_until(self._both_show_the_newest, 30, "both boards to show a scene under a grant")

    def show(self, scene: str) -> Shown:
        """Take a scene and let it run for SHOWN_S."""
        revision = self.hub.rollouts.take(VENUE, scene, 0).revision

        def taken_at_ms() -> int | None:
            rollout = self.hub.rollouts.rollout(VENUE, revision)
            assert rollout.state is not RolloutState.HALTED, rollout
            return rollout.take_at_ms

        take_s = wait_until(taken_at_ms, 20, f"{scene} to be taken") / 1_000
        shown = Shown(revision, scene, take_s)

        def shown_long_enough() -> bool:
            return time.time() > take_s + SHOWN_S and all(
                len(self.frames(node, shown)) >= INSTANTS for node in self.captures
            )

        wait_until(shown_long_enough, 20, f"{scene} to be shown")
        return shown

    def tighten(self) -> None:
        """The same front on small supplies."""
        self.hub.inventory.load(two_boards(TIGHT_A))
        wait_until(self._both_show_the_newest, 30, "both boards to show the front on small supplies")

    def frames(self, node: str, shown: Shown) -> Mapping[float, Bytes]:
        """The node's frames of a revision by show time, in order."""
        frames: dict[float, Bytes] = {}
        for number in range(1, 5):
            for frame in read_capture(capture_file(self.captures[node], number)):
                if frame.revision == shown.revision:
                    frames.setdefault(frame.show_time_s, {})[number] = frame.data
        return {show_s: wires for show_s, wires in frames.items() if len(wires) == 4}

    def _both_show_the_newest(self) -> bool:
        newest = self.hub.rollouts.page(VENUE, None, 1)
        states = {state.node: state for state in self.hub.node_views.states(VENUE)}
        return (
            bool(newest)
            and newest[0].state is RolloutState.TAKEN
            and all(states[node].revision_showing == newest[0].revision for node in self.captures)
        )


class HubsOwn:
    """The frames as the hub computes them for a preview."""

    def __init__(self, venue: Venue, scene: str) -> None:
        self._venue, self._scene = venue, scene
        self._lights = VenueLights(venue, compile_bodies(venue, scene, telemetry_interval_s=60.0))
        joined = self._lights.joined
        self._wires = [
            (wire, joined.first_pixel[wire], channel.pixels, encoder_for(channel.pixel_type, channel.pixels))
            for wire, channel in zip(joined.channels, joined.body.channels, strict=True)
        ]

    def frame(self, node: str, show_s: float, elapsed_s: float) -> Bytes:
        limited = self._lights.limit(self._lights.linear(self._scene, show_s), elapsed_s, show_s)
        self.scale = float(limited.scale.min())
        return {
            number: bytes(encoder.encode(limited.codes[first : first + pixels]))
            for (of_node, number), first, pixels, encoder in self._wires
            if of_node == node
        }


@pytest.fixture(scope="module")
def boards(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TwoBoards]:
    with ExitStack() as parts:
        yield TwoBoards(tmp_path_factory.mktemp("two-boards"), parts)


@pytest.mark.timeout(300)
def test_every_look_is_sent_as_the_hub_computes_it(boards: TwoBoards) -> None:
    chance = random.Random(4)
    for look in looks():
        shown = boards.show(look)
        own = HubsOwn(two_boards(), look)
        for node in (WEST, EAST):
            frames = boards.frames(node, shown)
            for show_s in chance.sample(sorted(frames), INSTANTS):
                assert own.frame(node, show_s, 1.0) == frames[show_s], f"{look} on {node} at {show_s}"
                assert own.scale == 1


def test_under_a_tight_budget_the_same_holds_from_the_take_on(boards: TwoBoards) -> None:
    """The limiter remembers, so the instants are computed in order."""
    boards.tighten()
    shown = boards.show("sale-day")
    for node in (WEST, EAST):
        own, scales, before_s = HubsOwn(two_boards(TIGHT_A), shown.scene), set(), shown.take_s
        frames = boards.frames(node, shown)
        for show_s, wires in frames.items():
            assert own.frame(node, show_s, min(show_s - before_s, 1.0)) == wires, f"{node} at {show_s}"
            scales.add(own.scale)
            before_s = show_s
        assert max(scales) < 1
        assert len(scales) > INSTANTS / 2, "the limiter moves"

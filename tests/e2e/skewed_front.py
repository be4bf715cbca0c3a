"""Three boards with bad clocks on poor links, a real hub and its broker, and their takes in true time."""

import json
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from hub.app import Hub
from hub.rollout.models import RolloutState
from hub.running import RunningHub
from hub.settings import Settings
from node_agent.board import capture_file
from node_agent.outputs import CapturedFrame, older_capture, read_capture
from schemas import Venue
from tests.e2e.jittering_relay import Jitter, JitteringRelay
from tests.processes import RealProcess, free_port, wait_until

HOUSE = Path(__file__).parents[2]
VENUE = "gallery"
SCENES = ("amber", "teal")
BOARDS = {
    # crystal ppm, wall clock s, its leap s
    "left": (200.0, 90.0, -3_600.0),
    "middle": (-200.0, -90.0, -1_600_000_000.0),
    "right": (120.0, 45.0, 86_400.0),
}
LINKS = {
    "left": Jitter(least_s=0.002, mean_s=0.004),
    "middle": Jitter(least_s=0.006, mean_s=0.008, spikes=0.03, spike_s=0.15),
    "right": Jitter(least_s=0.012, mean_s=0.006, spikes=0.02, spike_s=0.25),
}
PIXELS = 8
AROUND_S = 0.6
SETTLED_MS = 30.0
"""Of dispersion: the least delays of the links alone are half of it."""


def gallery() -> Venue:
    """All invented: three short runs side by side, in two still colours."""

    def node(name: str) -> dict[str, object]:
        feeds = [{"supply": f"{name}-5v", "wire_mm2": 1.5, "length_m": 1.0}]
        run = {"pixel_type": "rgb-5v-nrz800", "pixels": PIXELS, "pixels_per_m": 8.0, "feeds": feeds}
        channel = {"number": 1, "pin": "spidev0.0", "run": run}
        return {"id": name, "outputs": 1, "frame_rate_limit_hz": 25.0, "channels": [channel]}

    spans = [
        {"node": name, "channel": 1, "pixels": PIXELS, "path": [[float(place), 2.0], [place + 1.0, 2.0]]}
        for place, name in enumerate(BOARDS)
    ]
    washes = zip(SCENES, ("#302008", "#082830"), strict=True)
    document = {
        "id": VENUE,
        "title": "Gallery (invented)",
        "opening_scene": SCENES[0],
        "supplies": [{"id": f"{name}-5v", "volts": 5.0, "rated_a": 4.0} for name in BOARDS],
        "nodes": [node(name) for name in BOARDS],
        "zones": [{"id": "band", "spans": spans}],
        "scenes": [
            {"id": name, "title": name, "layers": [{"zone": "band", "pattern": {"pattern": "wash", "colour": colour}}]}
            for name, colour in washes
        ],
    }
    return Venue.model_validate_json(json.dumps(document))


@dataclass(frozen=True, slots=True)
class Measured:
    """Between the first and the last board of each take, ms of true time.

    `starts_ms`: by their first frames, what an eye sees. `clocks_ms`: by their clocks alone. Of the frames around a
    take the one that was written soonest after its show time tells the clock: a busy machine can only make frames late.
    """

    starts_ms: NDArray[np.float64]
    clocks_ms: NDArray[np.float64]


class SkewedFront:
    """Use as a context manager: take some times, then see what was `measured`."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._parts = ExitStack()

    @property
    def hub(self) -> Hub:
        return self._running.hub

    def __enter__(self) -> "SkewedFront":
        with ExitStack() as parts:
            settings = Settings(
                data_dir=self._folder / "hub",
                broker_host="127.0.0.1",
                broker_port=free_port(),
                telemetry_interval_s=0.5,
            )
            self._running = RunningHub(settings)
            self._running.start()
            parts.callback(self._running.stop)
            self.hub.inventory.load(gallery())
            for seed, name in enumerate(BOARDS):
                relay = parts.enter_context(JitteringRelay(settings.broker_port, LINKS[name], seed))
                parts.enter_context(self._agent(name, relay.port))
            wait_until(self._all_in_force, 60, "the opening scene on every board, and each to know show time")
            self._parts = parts.pop_all()
        return self

    def __exit__(self, *_: object) -> None:
        self._parts.close()

    def take(self, number: int) -> int:
        """The revision of one more take, once its show time is past."""
        wait_until(lambda: self.hub.rollouts.idle(VENUE), 30, "whatever is under way to be over")
        revision = self.hub.rollouts.take(VENUE, SCENES[number % 2], 0).revision

        def ended() -> RolloutState | None:
            state = self.hub.rollouts.rollout(VENUE, revision).state
            return state if state in (RolloutState.TAKEN, RolloutState.HALTED) else None

        state = wait_until(ended, 30, f"revision {revision} to end")
        assert state is RolloutState.TAKEN, self.hub.rollouts.rollout(VENUE, revision).reason
        wait_until(lambda: self.hub.rollouts.idle(VENUE), 30, "the take's show time")
        return revision

    def measured(self, revisions: list[int]) -> "Measured":
        """Once all that is to be measured has happened."""
        columns = [self._of_board(name, revisions) for name in BOARDS]
        starts_s, clocks_s = (np.stack(column, axis=1) for column in zip(*columns, strict=True))
        return Measured(np.ptp(starts_s, axis=1) * 1_000, np.ptp(clocks_s, axis=1) * 1_000)

    def _of_board(self, name: str, revisions: list[int]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """For each revision: when its first frame was written, and how late the board's clock was just then."""
        frames = list(self._frames(name))
        written_s = np.array([frame.written_at_s for frame in frames])
        behind_s = written_s - np.array([frame.show_time_s for frame in frames])
        first: dict[int | None, float] = {}
        for frame in frames:
            first.setdefault(frame.revision, frame.written_at_s)
        starts_s = np.array([first[revision] for revision in revisions])
        around = [np.abs(written_s - start_s) < AROUND_S for start_s in starts_s]
        return starts_s, np.array([behind_s[near].min() for near in around])

    def _agent(self, name: str, port: int) -> RealProcess:
        folder = self._folder / name
        folder.mkdir()
        issued = self.hub.credentials.issue(VENUE, name)
        credential = folder / "credential.json"
        credential.write_text(issued.model_copy(update={"broker_url": f"mqtt://127.0.0.1:{port}"}).model_dump_json())
        drift_ppm, skew_s, leap_s = BOARDS[name]
        command: list[str | Path] = [sys.executable, "-m", "tests.e2e.skewed_agent", "--credential", credential]
        command += ["--state", folder / "state", "--capture", folder / "capture"]
        command += [f"--drift-ppm={drift_ppm}", f"--skew-s={skew_s}", f"--leap-s={leap_s}"]
        return RealProcess(command, folder / "agent.log", {"PYTHONPATH": str(HOUSE)})

    def _frames(self, name: str) -> Iterator[CapturedFrame]:
        path = capture_file(self._folder / name / "capture", 1)
        for one in (older_capture(path), path):
            if one.exists():
                yield from read_capture(one)

    def _all_in_force(self) -> bool:
        in_force = self.hub.rollouts.in_force(VENUE)
        states = self.hub.node_views.states(VENUE)
        return in_force is not None and all(
            state.revision_showing == in_force.revision and (state.clock_dispersion_ms or 1e9) <= SETTLED_MS
            for state in states
        )

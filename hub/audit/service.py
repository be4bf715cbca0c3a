"""The audit: figures of the venue as it is, the scene that shows, and what telemetry told."""

import threading
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from hub.audit.report import Standing, Told, audit_of, standing_of
from hub.audit.view import Audit
from hub.audit.wiring_view import RunVolts
from hub.desired.work_light import scenes_with_work_light
from hub.electrical.levels import Level
from hub.fleet.loop import FleetLoop
from hub.fleet.state import NodeState
from hub.load import SupplyLoad
from hub.rollout import RolloutService, VenueSource
from hub.scenes.sampling import ScenePeaks, sample_scene
from hub.scenes.showing import showing


class Loads(Protocol):
    """What the audit needs of telemetry."""

    def load(self, venue: str) -> Mapping[str, SupplyLoad]:
        """What was told of each supply; supplies never heard of are absent."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class Examined:
    """An audit, the venue and network that it is of, and the revision that shows; None with none."""

    standing: Standing
    audit: Audit
    revision: int | None


class AuditService:
    """Thread-safe. What follows from a venue alone, and the peaks of a scene, are worked out once while it stands."""

    def __init__(self, inventory: VenueSource, rollouts: RolloutService, fleet: FleetLoop, loads: Loads) -> None:
        self._inventory = inventory
        self._rollouts = rollouts
        self._fleet = fleet
        self._loads = loads
        self._lock = threading.Lock()
        self._standing: dict[str, Standing] = {}
        self._peaks: dict[str, tuple[Standing, str | None, ScenePeaks]] = {}

    def audit(self, venue: str) -> Audit:
        """Raises NotFoundError."""
        return self.examined(venue).audit

    def examined(self, venue: str) -> Examined:
        """The audit with what it was made from, all of one moment. Raises NotFoundError."""
        standing = self.standing(venue)
        now_s, now = self._fleet.call(lambda now_s: (now_s, amps_now(self._fleet.state.of_venue(venue))))
        scenes = showing(self._rollouts, venue, now_s).scenes
        scene = scenes[0].scene if scenes else None
        there = {None, *(one.id for one in scenes_with_work_light(standing.venue))}
        known = bool(scenes) and scene in there
        peaks = self._sampled(standing, scene) if known else None
        others = sum(len(one.nodes) for one in scenes if one.scene != scene)
        audit = audit_of(standing, scene, peaks, Told(self._loads.load(venue), now), others)
        return Examined(standing, audit, scenes[0].revision if scenes else None)

    def volts(self, venue: str, node: str, channel: int, level: Level) -> RunVolts:
        """Raises NotFoundError for a venue, node or channel that is not there."""
        return self.standing(venue).volts(node, channel, level)

    def standing(self, venue: str) -> Standing:
        """The venue as it is now, with its network solved. Raises NotFoundError."""
        present = self._inventory.venue(venue)
        with self._lock:
            known = self._standing.get(venue)
            if known is None or known.venue is not present:
                known = self._standing[venue] = standing_of(present)
            return known

    def _sampled(self, standing: Standing, scene: str | None) -> ScenePeaks:
        with self._lock:
            known = self._peaks.get(standing.venue.id)
            if known is None or known[0] is not standing or known[1] != scene:
                peaks = sample_scene(standing.lights(), scene)
                known = self._peaks[standing.venue.id] = (standing, scene, peaks)
            return known[2]


def amps_now(states: Iterable[NodeState]) -> dict[str, float]:
    """Amps by supply, summed over the nodes that are on and have told."""
    amps: dict[str, float] = {}
    for state in states:
        if state.online and state.telemetry is not None:
            for supply in state.telemetry.supplies:
                amps[supply.supply] = amps.get(supply.supply, 0.0) + supply.amps
    return amps

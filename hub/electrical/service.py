"""The audit: figures of the venue as it is, the scene in force, and what telemetry told."""

from collections.abc import Iterable, Mapping
from typing import Final, Protocol

from hub.desired import compile_bodies
from hub.electrical.figures import Draw, Verdict, draw_by_node_and_supply, total_by, verdict_of
from hub.electrical.view import Audit, NodeAudit, SupplyAudit, VenueAudit
from hub.fleet.loop import FleetLoop
from hub.fleet.state import NodeState
from hub.rollout import RolloutService, VenueSource
from hub.scenes.lights import VenueLights
from hub.scenes.sampling import ScenePeaks, sample_scene
from schemas import Venue

CAUTIONS: Final = (
    "The mains side of every supply, and whatever local code reserves, belongs to a licensed electrician.",
    "The budget is kept by software and protects no wire: fit a fuse close to the supply in each feed, no larger than "
    "its wire allows.",
    "Derating to 0.8 for continuous load is common practice for a DC supply, no source.",
    "Typical and worst-case currents of a pixel are those of its pixel type; 20 mA and 60 mA for RGB at 5 V are common "
    "practice, no source. Measure your own pixels before you rely on them.",
    "Where several nodes share a supply, the highest that telemetry told is the sum of each one's highest: an upper "
    "bound.",
    "This audit looks at currents of supplies only: not at wire sizes, fuses, voltage along the runs or heat.",
)


class TelemetryHighs(Protocol):
    """What the audit needs of stored telemetry."""

    def highest(self, venue: str) -> Mapping[str, float]:
        """Highest amps that were told, by supply; supplies never heard of are absent."""
        ...


class AuditService:
    """Thread-safe; peaks of a scene are rendered once for a venue as it stands."""

    def __init__(
        self, inventory: VenueSource, rollouts: RolloutService, fleet: FleetLoop, telemetry: TelemetryHighs
    ) -> None:
        self._inventory = inventory
        self._rollouts = rollouts
        self._fleet = fleet
        self._telemetry = telemetry
        self._peaks: dict[str, tuple[Venue, str | None, ScenePeaks]] = {}

    def audit(self, venue: str) -> Audit:
        """Raises NotFoundError."""
        present = self._inventory.venue(venue)
        lights = VenueLights(present, compile_bodies(present, None, telemetry_interval_s=60.0))
        in_force = self._rollouts.in_force(venue)
        scene = None if in_force is None else in_force.prepared.scene
        known = in_force is not None and (scene is None or any(one.id == scene for one in present.scenes))
        peaks = self._sampled(lights, scene) if known else None
        now = self._fleet.call(lambda _now_s: amps_now(self._fleet.state.of_venue(venue)))
        return audit_of(lights, scene, peaks, self._telemetry.highest(venue), now)

    def _sampled(self, lights: VenueLights, scene: str | None) -> ScenePeaks:
        known = self._peaks.get(lights.venue.id)
        if known is None or known[0] is not lights.venue or known[1] != scene:
            known = self._peaks[lights.venue.id] = (lights.venue, scene, sample_scene(lights, scene))
        return known[2]


def amps_now(states: Iterable[NodeState]) -> dict[str, float]:
    """Amps by supply, summed over the nodes that are on and have told."""
    amps: dict[str, float] = {}
    for state in states:
        if state.online and state.telemetry is not None:
            for supply in state.telemetry.supplies:
                amps[supply.supply] = amps.get(supply.supply, 0.0) + supply.amps
    return amps


def audit_of(
    lights: VenueLights,
    scene: str | None,
    peaks: ScenePeaks | None,
    highest: Mapping[str, float],
    now: Mapping[str, float],
) -> Audit:
    """The audit out of its figures. Pure."""
    draws = draw_by_node_and_supply(lights.joined)
    by_supply = total_by(draws, 1)
    supplies = [
        _supply_audit(lights.venue, place, draws, by_supply, peaks, highest, now)
        for place in range(len(lights.venue.supplies))
    ]
    return Audit(
        scene=scene,
        supplies=supplies,
        nodes=_node_audits(lights.venue, draws),
        venue=_venue_audit(lights.venue, supplies),
        cautions=list(CAUTIONS),
    )


def _supply_audit(
    venue: Venue,
    place: int,
    draws: Mapping[tuple[str, str], Draw],
    by_supply: Mapping[str, Draw],
    peaks: ScenePeaks | None,
    highest: Mapping[str, float],
    now: Mapping[str, float],
) -> SupplyAudit:
    supply = venue.supplies[place]
    draw = by_supply.get(supply.id, Draw())
    verdict, reason = verdict_of(supply, draw)
    peak = None if peaks is None else peaks.supplies.get(supply.id)
    return SupplyAudit(
        supply=supply.id,
        title=supply.title,
        volts=supply.volts,
        rated_a=supply.rated_a,
        derating=supply.derating,
        budget_a=round(supply.budget_a, 3),
        worst_case_a=round(draw.worst_case_a, 3),
        scene_peak_a=None if peaks is None else round(0.0 if peak is None else peak.highest_a, 3),
        typical_a=round(draw.typical_a, 3),
        telemetry_highest_a=highest.get(supply.id),
        telemetry_now_a=now.get(supply.id),
        pixels=draw.pixels,
        nodes=[node.id for node in venue.nodes if (node.id, supply.id) in draws],
        verdict=verdict,
        reason=reason,
    )


def _node_audits(venue: Venue, draws: Mapping[tuple[str, str], Draw]) -> list[NodeAudit]:
    volts = {supply.id: supply.volts for supply in venue.supplies}
    by_node = total_by(draws, 0)
    supplies: dict[str, list[str]] = {}
    watts: dict[str, tuple[float, float]] = {}
    for (node, supply), draw in draws.items():
        supplies.setdefault(node, []).append(supply)
        worst, typical = watts.get(node, (0.0, 0.0))
        at = volts.get(supply, 0.0)
        watts[node] = worst + at * draw.worst_case_a, typical + at * draw.typical_a
    return [
        NodeAudit(
            node=node.id,
            title=node.title,
            supplies=supplies.get(node.id, []),
            pixels=draw.pixels,
            worst_case_a=round(draw.worst_case_a, 3),
            worst_case_w=round(watts.get(node.id, (0.0, 0.0))[0], 2),
            typical_a=round(draw.typical_a, 3),
            typical_w=round(watts.get(node.id, (0.0, 0.0))[1], 2),
        )
        for node in venue.nodes
        for draw in [by_node.get(node.id, Draw())]
    ]


def _venue_audit(venue: Venue, supplies: list[SupplyAudit]) -> VenueAudit:
    peaks = [supply.volts * supply.scene_peak_a for supply in supplies if supply.scene_peak_a is not None]
    verdicts = [supply.verdict for supply in supplies]
    return VenueAudit(
        supplies=len(supplies),
        nodes=len(venue.nodes),
        pixels=sum(channel.run.pixels for node in venue.nodes for channel in node.channels),
        rated_w=round(sum(supply.volts * supply.rated_a for supply in supplies), 2),
        budget_w=round(sum(supply.volts * supply.budget_a for supply in supplies), 2),
        worst_case_w=round(sum(supply.volts * supply.worst_case_a for supply in supplies), 2),
        scene_peak_w=round(sum(peaks), 2) if peaks else None,
        typical_w=round(sum(supply.volts * supply.typical_a for supply in supplies), 2),
        within=verdicts.count(Verdict.WITHIN),
        only_under_budget=verdicts.count(Verdict.ONLY_UNDER_BUDGET),
        overloaded=verdicts.count(Verdict.OVERLOADED),
    )

"""The audit out of its figures. Pure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from hub.audit.cautions import CAUTIONS, assumptions_of
from hub.audit.figures import Draw, Verdict, draw_by_node_and_supply, headroom_of, total_by, verdict_of
from hub.audit.notes import wiring_notes, wiring_of
from hub.audit.view import Audit, NodeAudit, SceneWindow, Share, SupplyAudit, VenueAudit
from hub.audit.wiring import DIGITS, Solutions, run_audits, solve_levels
from hub.audit.wiring_view import Note, RunAudit, RunVolts, Wiring
from hub.desired import compile_bodies
from hub.desired.budgets import share_budgets
from hub.desired.compile import pixel_types_of
from hub.desired.work_light import with_work_light
from hub.electrical.circuits import Circuits, venue_circuits
from hub.electrical.class_2 import within_class_2
from hub.electrical.levels import Level
from hub.errors import NotFoundError
from hub.load import SupplyLoad
from hub.scenes.lights import VenueLights
from hub.scenes.sampling import ScenePeaks
from schemas import Venue


@dataclass(frozen=True, slots=True)
class Told:
    """What telemetry told of each supply: over the days that are kept, and now, amps."""

    loads: Mapping[str, SupplyLoad]
    now: Mapping[str, float]


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """All that follows from a venue alone, with no scene and no telemetry."""

    venue: Venue
    circuits: Circuits
    solutions: Solutions
    draws: Mapping[tuple[str, str], Draw]
    """(node, supply) -> what the node's pixels draw from it."""
    runs: list[RunAudit]
    notes: list[Note]

    def lights(self) -> VenueLights:
        """The venue's renderer, for the peaks of its scenes."""
        bodies = compile_bodies(self.venue, None, telemetry_interval_s=60.0)
        return VenueLights(self.venue, with_work_light(self.venue, bodies))

    def volts(self, node: str, channel: int, level: Level) -> RunVolts:
        """Volts along one run. Raises NotFoundError."""
        places = self.circuits.pixels.places
        if (node, channel) not in places:
            raise NotFoundError("channel", f"{node}/{channel}")
        place = places.index((node, channel))
        solution = self.solutions[level].ladders[place]
        return RunVolts(
            node=node,
            channel=channel,
            level=level,
            minimum_v=self.circuits.runs[place].kind.minimum_volts,
            volts=[round(volts, DIGITS) if np.isfinite(volts) else None for volts in solution.volts.tolist()],
            step_a=np.round(solution.step_a, DIGITS).tolist(),
        )


def standing_of(venue: Venue) -> Standing:
    """Solve the venue's network at each level and see what its wiring is worth."""
    circuits = venue_circuits(venue)
    solutions = solve_levels(circuits)
    runs = run_audits(circuits, solutions)
    return Standing(
        venue=venue,
        circuits=circuits,
        solutions=solutions,
        draws=draw_by_node_and_supply(circuits.pixels),
        runs=runs,
        notes=wiring_notes(circuits, solutions, runs),
    )


def audit_of(standing: Standing, scene: str | None, peaks: ScenePeaks | None, told: Told, others: int = 0) -> Audit:
    """The audit of a venue that shows `scene`, of which `peaks` are known, on all but `others` of its nodes."""
    venue = standing.venue
    totals = total_by(standing.draws, 1)
    shares = _shares(standing)
    notes = _notes_by_supply(standing.notes)
    hungriest = standing.circuits.pixels.hungriest_a().tolist()
    lowest = _lowest_under_budget(standing)
    supplies: list[SupplyAudit] = []
    for place, supply in enumerate(venue.supplies):
        draw = totals.get(supply.id, Draw())
        peak = None if peaks is None else peaks.supplies.get(supply.id)
        verdict, reason = verdict_of(supply, draw)
        load = told.loads.get(supply.id)
        supplies.append(
            SupplyAudit(
                supply=supply.id,
                title=supply.title,
                volts=supply.volts,
                rated_a=supply.rated_a,
                derating=supply.derating,
                budget_a=round(supply.budget_a, 3),
                worst_case_a=round(draw.worst_case_a, 3),
                scene_peak_a=None if peaks is None else round(0.0 if peak is None else peak.highest_a, 3),
                typical_a=round(draw.typical_a, 3),
                telemetry_highest_a=_highest(load, told.now.get(supply.id)),
                telemetry_percentile_95_a=None
                if load is None or load.percentile_95_a is None
                else round(load.percentile_95_a, 3),
                telemetry_hours=None if load is None else round(load.hours, 2),
                telemetry_now_a=told.now.get(supply.id),
                pixels=draw.pixels,
                nodes=[share.node for share in shares[supply.id]],
                sharing=supply.sharing,
                shares=shares[supply.id],
                headroom_worst_case=headroom_of(supply, draw.worst_case_a, hungriest[place]),
                headroom_typical=headroom_of(supply, draw.typical_a, hungriest[place]),
                class_2=within_class_2(supply.volts, supply.rated_a),
                verdict=verdict,
                reason=reason,
                wiring=wiring_of(notes.get(supply.id, ())),
                lowest_under_budget_v=lowest.get(supply.id),
            )
        )
    return Audit(
        scene=scene,
        scene_window=None if peaks is None else _window(peaks),
        supplies=supplies,
        nodes=_node_audits(venue, standing.draws),
        runs=standing.runs,
        notes=standing.notes,
        venue=_venue_audit(venue, supplies),
        assumptions=[*_elsewhere(others), *assumptions_of(venue, standing.runs)],
        cautions=list(CAUTIONS),
    )


def _shares(standing: Standing) -> dict[str, list[Share]]:
    """The nodes on each supply, in the venue's order, with their fixed shares."""
    venue = standing.venue
    fixed = {
        (node, budget.supply): budget.budget_a
        for node, budgets in share_budgets(venue, pixel_types_of(venue)).items()
        for budget in budgets
    }
    shares: dict[str, list[Share]] = {supply.id: [] for supply in venue.supplies}
    for (node, supply), draw in standing.draws.items():
        shares[supply].append(
            Share(
                node=node,
                fixed_a=fixed.get((node, supply), 0.0),
                worst_case_a=round(draw.worst_case_a, 3),
                typical_a=round(draw.typical_a, 3),
            )
        )
    return shares


def _window(peaks: ScenePeaks) -> SceneWindow:
    if peaks.window_s == 0:
        words = "The scene stands still: its peak is what it asks for all the time."
    else:
        then = "after which the scene repeats" if peaks.whole else "beyond which it may rise higher"
        words = f"Scene peak: the highest of {peaks.samples} instants rendered over {peaks.window_s:.4g} s, {then}."
    return SceneWindow(length_s=round(peaks.window_s, 3), whole=peaks.whole, instants=peaks.samples, words=words)


def _highest(load: SupplyLoad | None, now_a: float | None) -> float | None:
    """What is told now may not have been counted yet."""
    if load is None:
        return now_a
    return round(max(load.highest_a, now_a or 0.0), 3)


def _elsewhere(others: int) -> list[str]:
    if not others:
        return []
    nodes = "1 node shows" if others == 1 else f"{others} nodes show"
    return [f"{nodes} another scene at this moment: the scene's peaks are of the one that most nodes show, on all."]


def _notes_by_supply(notes: Iterable[Note]) -> dict[str, list[Note]]:
    found: dict[str, list[Note]] = {}
    for note in notes:
        for supply in note.supplies:
            found.setdefault(supply, []).append(note)
    return found


def _lowest_under_budget(standing: Standing) -> dict[str, float]:
    """Volts at the darkest pixel of those that boards count to each supply."""
    pixels = standing.circuits.pixels
    ladders = standing.solutions[Level.UNDER_BUDGET].ladders
    volts = np.concatenate([ladder.volts for ladder in ladders]) if ladders else np.empty(0)
    lowest = np.full(len(standing.venue.supplies), np.inf)
    counted = (pixels.supply >= 0) & np.isfinite(volts)
    np.minimum.at(lowest, pixels.supply[counted], volts[counted])
    return {
        supply.id: round(float(at), DIGITS)
        for supply, at in zip(standing.venue.supplies, lowest, strict=True)
        if np.isfinite(at)
    }


def _node_audits(venue: Venue, draws: Mapping[tuple[str, str], Draw]) -> list[NodeAudit]:
    volts = {supply.id: supply.volts for supply in venue.supplies}
    by_node = total_by(draws, 0)
    supplies: dict[str, list[str]] = {}
    watts: dict[str, tuple[float, float]] = {}
    for (node, supply), draw in draws.items():
        supplies.setdefault(node, []).append(supply)
        worst, typical = watts.get(node, (0.0, 0.0))
        watts[node] = worst + volts[supply] * draw.worst_case_a, typical + volts[supply] * draw.typical_a
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
    wiring = [supply.wiring for supply in supplies]
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
        wiring_faults=wiring.count(Wiring.FAULT),
        wiring_attentions=wiring.count(Wiring.ATTENTION),
    )

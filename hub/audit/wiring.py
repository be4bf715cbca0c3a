"""Runs and feeds of the audit: volts along every run at three levels, amps, drop and heat of every feed. Pure."""

from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np

from hub.audit.wiring_view import FeedAudit, LowestVolts, RunAudit
from hub.electrical.ampacity import ampacity_a
from hub.electrical.circuits import Circuits, RunCircuit
from hub.electrical.fuses import HIGHEST_V, FuseKind, fitting_ratings_a
from hub.electrical.levels import Level
from hub.electrical.network import LadderSolution, NetworkSolution, feed_drop_v, feed_heat_w, heat_w_per_m
from schemas import Feed

DIGITS: Final = 4

Solutions = Mapping[Level, NetworkSolution]


def solve_levels(circuits: Circuits) -> dict[Level, NetworkSolution]:
    """The venue's network at each level."""
    return {level: circuits.at(level) for level in Level}


def run_audits(circuits: Circuits, solutions: Solutions) -> list[RunAudit]:
    """Every run of the venue, in its order."""
    return [
        _run_audit(circuits, run, {level: solutions[level].ladders[place] for level in Level})
        for place, run in enumerate(circuits.runs)
    ]


def fuse_kind(volts: float) -> FuseKind:
    """Blade fuses are easiest to fit and to find; above their volts, cartridges."""
    return FuseKind.BLADE if volts <= HIGHEST_V[FuseKind.BLADE] else FuseKind.CARTRIDGE


def wire_words(feed: Feed) -> str:
    """A feed's wire as the venue states it."""
    return f"AWG {feed.wire_awg}" if feed.wire_awg is not None else f"{feed.wire_mm2:g} mm²"


def _run_audit(circuits: Circuits, circuit: RunCircuit, at: Mapping[Level, LadderSolution]) -> RunAudit:
    run = circuit.run
    under_budget = at[Level.UNDER_BUDGET]
    heat = heat_w_per_m(under_budget, circuit.ladder(under_budget.load_a), run.pixels_per_m)
    return RunAudit(
        node=circuit.node.id,
        channel=circuit.channel.number,
        pixel_type=run.pixel_type,
        pixels=run.pixels,
        length_m=round(run.pixels / run.pixels_per_m, 3),
        loop_ohm_per_m=circuit.loop_ohm_per_m,
        loop_ohm_assumed=run.loop_ohm_per_m is None,
        minimum_v=circuit.kind.minimum_volts,
        lowest=[_lowest(level, at[level]) for level in Level if np.isfinite(at[level].volts).any()],
        copper_w_per_m=round(float(heat.max(initial=0.0)), DIGITS),
        frame_rate_hz=round(1 / circuit.kind.wire_time_s(run.pixels), 1),
        positive_cut_before=list(run.positive_cut_before),
        feeds=list(_feed_audits(circuits, circuit, at)),
    )


def _lowest(level: Level, solution: LadderSolution) -> LowestVolts:
    at_pixel = int(np.nanargmin(solution.volts))
    return LowestVolts(
        level=level,
        volts=round(float(solution.volts[at_pixel]), DIGITS),
        at_pixel=at_pixel,
        pixels_below_minimum=int(np.count_nonzero(solution.below_minimum)),
    )


def _feed_audits(circuits: Circuits, circuit: RunCircuit, at: Mapping[Level, LadderSolution]) -> Iterator[FeedAudit]:
    under_budget = at[Level.UNDER_BUDGET]
    ladder = circuit.ladder(under_budget.load_a)
    drop_v, heat_w = feed_drop_v(under_budget, ladder), feed_heat_w(under_budget, ladder)
    for place, (feed, wire) in enumerate(zip(circuit.run.feeds, circuit.feeds, strict=True)):
        under_budget_a = float(under_budget.feed_a[place])
        bears_a = ampacity_a(feed.area_mm2)
        volts = circuits.venue.supplies[wire.source].volts
        yield FeedAudit(
            at_pixel=feed.at_pixel,
            supply=feed.supply,
            wire=wire_words(feed),
            area_mm2=round(feed.area_mm2, 3),
            length_m=feed.length_m,
            conductor_c=feed.conductor_c,
            loop_ohm=round(wire.loop_ohm, 6),
            ampacity_a=round(bears_a, 2),
            fuse_a=feed.fuse_a,
            fitting_fuses_a=list(fitting_ratings_a(abs(under_budget_a), bears_a, fuse_kind(volts))),
            typical_a=round(float(at[Level.TYPICAL].feed_a[place]), DIGITS),
            under_budget_a=round(under_budget_a, DIGITS),
            worst_case_a=round(float(at[Level.WORST_CASE].feed_a[place]), DIGITS),
            loaded_a=round(max(abs(under_budget_a), abs(float(under_budget.feed_return_a[place]))), DIGITS),
            drop_v=round(float(drop_v[place]), DIGITS),
            heat_w=round(float(heat_w[place]), DIGITS),
        )

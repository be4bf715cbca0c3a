"""How bright the installation may be as it stands: budgets, volts at every pixel, fuses, and what wires carry.

Loads keep their current at any volts, so every amp and every volt of the network is a straight line in the level: two
solutions, dark and full white, give each limit's level exactly. Supplies that one run joins share the lowest of theirs.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Annotated, Final

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, Field
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from hub.electrical.advice.answer import CAUTIONS, Advice, Question, Value
from hub.electrical.ampacity import SOURCE as AMPACITY_SOURCE
from hub.electrical.ampacity import ampacity_a
from hub.electrical.circuits import Circuits
from hub.electrical.fuses import MOST_OF_FUSE
from hub.electrical.network import NetworkSolution, solve_network

Amps = NDArray[np.float64]
_TOLERANCE: Final = 1e-9


class BrightnessQuestion(Question):
    """The venue as it is wired; the level is that of every emitter, 0 to 1 of full white."""

    minimum_volts: Annotated[
        float | None, Field(gt=0, le=60, description="Volts that every pixel must keep; its type's lowest without it.")
    ] = None


class SupplyLevel(BaseModel):
    """How bright the pixels of one supply may be."""

    supply: str
    level: float = Field(description="0 to 1 of full white, rounded down; 0 where even darkness is too much.")
    decided_by: str = Field(description="The limit that is met first, with its place; `none` where full white holds.")


class BrightnessAdvice(Advice):
    """The level of the whole venue, and of each supply by itself."""

    supplies: list[SupplyLevel]


@dataclass(frozen=True, slots=True)
class _Limit:
    """A figure that may grow to `most`; `dark` and `full` are its values at level 0 and 1."""

    supply: int
    text: str
    dark: float
    full: float
    most: float

    @property
    def level(self) -> float:
        """Highest level at which it holds, at most 1; below 0 where it never does."""
        if self.dark > self.most + _TOLERANCE:
            return -1.0
        if self.full <= self.most + _TOLERANCE:
            return 1.0
        return (self.most - self.dark) / (self.full - self.dark)

    def holds_at(self, value: float) -> bool:
        return value <= self.most + 1e-6


def highest_level(circuits: Circuits, question: BrightnessQuestion) -> BrightnessAdvice:
    """The highest safe level of the venue and of each supply that has pixels."""
    dark, full = solve_at(circuits, 0.0), solve_at(circuits, 1.0)
    lowest: dict[int, _Limit] = {}
    joined = _joined_supplies(circuits)
    for limit in _limits(circuits, question, dark, full):
        group = joined[limit.supply]
        if group not in lowest or limit.level < lowest[group].level:
            lowest[group] = limit
    used = sorted(set(circuits.pixels.supply[circuits.pixels.supply >= 0].tolist()))
    supplies = [_supply_level(circuits, place, lowest[joined[place]]) for place in used]
    venue_level = min((one.level for one in supplies), default=0.0)
    found = bool(supplies) and all(limit.level >= 0 for limit in lowest.values())
    deciding = next((one for one in supplies if one.level == venue_level), None)
    values: dict[str, Value] = {"level": venue_level}
    if deciding is not None:
        values |= {"decided_by": deciding.decided_by, "supply": deciding.supply}
    return BrightnessAdvice(
        question="How bright may the installation be as it stands?",
        answer=_answer(found, venue_level, deciding),
        found=found,
        values=values,
        formula="level = lowest over all limits of (limit − value dark) / (value full − value dark); limits: budget of "
        f"each supply, {MOST_OF_FUSE:g} × fuse and ampacity of each feed, lowest volts of each pixel",
        inputs={**question.inputs(), "venue": circuits.venue.id, "ambient_c": 30, "loaded_conductors": 2},
        source="Kirchhoff's laws, solved for the whole venue; currents by pixel type, white balance left out. "
        f"{AMPACITY_SOURCE} 0.8 of a fuse and of a supply: common practice.",
        confirmation=_confirmation(circuits, question, supplies),
        cautions=[*CAUTIONS, *_open_points(circuits, full)],
        supplies=supplies,
    )


def solve_at(circuits: Circuits, level: float | Amps) -> NetworkSolution:
    """The venue with its pixels lit at `level`, one for all or one per supply; every pixel keeps its current."""
    share = level if isinstance(level, float) else np.append(level, 1.0)[circuits.pixels.supply]
    amps = circuits.pixels.idle_a + share * (circuits.pixels.full_a - circuits.pixels.idle_a)
    ladders = [
        replace(run.ladder(load_a), current_falls=False)
        for run, load_a in zip(circuits.runs, circuits.pixels.by_run(amps), strict=True)
    ]
    return solve_network(circuits.sources, ladders)


def broken_limits(circuits: Circuits, question: BrightnessQuestion, level: float | Amps) -> list[str]:
    """Every limit that does not hold at `level`, solved anew."""
    solution = solve_at(circuits, level)
    return [limit.text for limit in _limits(circuits, question, solution, solution) if not limit.holds_at(limit.full)]


def _limits(
    circuits: Circuits, question: BrightnessQuestion, dark: NetworkSolution, full: NetworkSolution
) -> Iterator[_Limit]:
    for place, supply in enumerate(circuits.venue.supplies):
        text = f"the budget of {supply.budget_a:.4g} A"
        yield _Limit(place, text, float(dark.source_a[place]), float(full.source_a[place]), supply.budget_a)
    starts = circuits.pixels.starts
    for number, circuit in enumerate(circuits.runs):
        supply_of_pixel = circuits.pixels.supply[starts[number] : starts[number + 1]]
        run, where = circuit.run, f"channel {circuit.channel.number} of {circuit.node.id}"
        dark_run, full_run = dark.ladders[number], full.ladders[number]
        for feed, wire, at_dark, at_full in zip(
            run.feeds, circuit.feeds, np.abs(dark_run.feed_a).tolist(), np.abs(full_run.feed_a).tolist(), strict=True
        ):
            at = f"the feed at pixel {feed.at_pixel} of {where}"
            bears_a = ampacity_a(feed.area_mm2)
            yield _Limit(wire.source, f"the wire of {at}, which bears {bears_a:.3g} A", at_dark, at_full, bears_a)
            if feed.fuse_a is not None:
                most_a = feed.fuse_a * MOST_OF_FUSE
                text = f"the fuse of {at}, {MOST_OF_FUSE:g} of {feed.fuse_a:g} A"
                yield _Limit(wire.source, text, at_dark, at_full, most_a)
        minimum_v = circuit.kind.minimum_volts if question.minimum_volts is None else question.minimum_volts
        for place in np.unique(supply_of_pixel[supply_of_pixel >= 0]).tolist():
            pixels = np.flatnonzero(supply_of_pixel == place)
            yield from _volts_limit(place, pixels, dark_run.volts, full_run.volts, minimum_v, where)


def _volts_limit(
    supply: int, pixels: NDArray[np.intp], dark_v: Amps, full_v: Amps, minimum_v: float, where: str
) -> Iterator[_Limit]:
    """Of a supply's pixels on one run, the first that reaches the lowest volts. Limits grow, so volts negate."""
    dark, full = dark_v[pixels], full_v[pixels]
    falling = np.maximum(dark - full, _TOLERANCE)
    first = int(np.argmin((dark - minimum_v) / falling))
    text = f"{minimum_v:g} V at pixel {int(pixels[first])} of {where}"
    yield _Limit(supply, text, -float(dark[first]), -float(full[first]), -minimum_v)


def _joined_supplies(circuits: Circuits) -> list[int]:
    """Per supply, the group of those that one run joins."""
    supplies = len(circuits.sources)
    pairs = [(run.feeds[0].source, wire.source) for run in circuits.runs for wire in run.feeds]
    if not pairs:
        return list(range(supplies))
    first, second = np.array(pairs, dtype=np.intp).T
    graph = coo_array((np.ones(len(pairs)), (first, second)), shape=(supplies, supplies))
    _count, groups = connected_components(graph, directed=False)
    labels: list[int] = groups.tolist()
    return labels


def _supply_level(circuits: Circuits, place: int, limit: _Limit) -> SupplyLevel:
    decided_by = "none"
    if limit.level < 1:
        other = "" if limit.supply == place else f"on supply {circuits.venue.supplies[limit.supply].id}, "
        decided_by = other + limit.text
    level = math.floor(max(limit.level, 0.0) * 1e4 + 1e-6) / 1e4
    return SupplyLevel(supply=circuits.venue.supplies[place].id, level=level, decided_by=decided_by)


def _answer(found: bool, level: float, deciding: SupplyLevel | None) -> str:
    if deciding is None:
        return "Nothing to light: no pixel hangs on a supply."
    if not found:
        return (
            f"Not even darkness is safe: {deciding.decided_by} of supply {deciding.supply} is exceeded with all dark."
        )
    if level >= 1:
        return "Full white: every budget, fuse and wire holds, and every pixel keeps its volts."
    return (
        f"{level:.2%} of full white on all pixels at once: {deciding.decided_by} decides, on supply {deciding.supply}."
    )


def _confirmation(circuits: Circuits, question: BrightnessQuestion, supplies: list[SupplyLevel]) -> str:
    if not supplies:
        return "There is nothing to solve."
    by_id = {one.supply: one.level for one in supplies}
    levels = np.array([by_id.get(supply.id, 0.0) for supply in circuits.venue.supplies])
    broken = broken_limits(circuits, question, levels)
    text = "Solved anew with each supply at its own level: "
    text += "every limit holds." if not broken else f"{len(broken)} limits do not hold, first {broken[0]}."
    lowest = min(by_id.values())
    if 0 < lowest < 1:
        above = broken_limits(circuits, question, lowest * 1.01)
        text += f" All pixels at 1 % more than the venue's level: {len(above)} no longer hold."
    return text


def _open_points(circuits: Circuits, solution: NetworkSolution) -> list[str]:
    points = ["A level is no protection: an agent's budget limiter is software, and a fault draws more than any level."]
    runs = [circuit.run for circuit in circuits.runs]
    joined = len({place for place, _supply, _other in solution.paralleled})
    unfed = sum(not run.feeds for run in runs)
    unfused = sum(feed.fuse_a is None for run in runs for feed in run.feeds)
    assumed = sum(run.loop_ohm_per_m is None for run in runs)
    if joined:
        points.append(f"Runs that join two supplies, which push against each other: {joined}; cut the positive rail.")
    if unfed:
        points.append(f"Without any feed, and left out: {unfed} of {len(runs)} runs.")
    if unfused:
        points.append(f"Without a stated fuse: {unfused} feeds; only their wire was looked at.")
    if assumed:
        points.append(f"Copper assumed and not measured: {assumed} of {len(runs)} runs.")
    return points

"""How few feeds a run needs, and where, so that no pixel falls below a chosen voltage at a chosen level."""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np
from pydantic import Field

from hub.electrical.advice.answer import CAUTIONS, Advice, Question, Value
from hub.electrical.advice.fuse import WireAwg, WireMm2, wire_area_mm2
from hub.electrical.advice.placing import Placed, Section, Volts, place_feeds
from hub.electrical.ampacity import ampacity_a
from hub.electrical.circuits import Circuits, RunCircuit
from hub.electrical.copper import loop_ohm
from hub.electrical.network import FeedWire, Ladder, Source, solve_network
from hub.errors import InvalidError, Mistake, NotFoundError
from schemas import Feed, Supply
from schemas.bounds import MAX_FEEDS_PER_RUN
from schemas.contract import ChannelNumber, Id

_ATTEMPTS: Final = 4
FORMULA: Final = (
    "n pixels of i amps, k feeds of R ohms, r ohms from pixel to pixel. For k = 1, 2, 3, …: k feeds cannot do where "
    "R·i·n/k + r·i·s((n/k − 1)/2) exceeds the volts to spare, s(a) = a + (a − 1) + … while positive; else each feed in "
    "the middle of its share, moved while that lifts the lowest pixel; the first k that the solver confirms"
)


class FeedsQuestion(Question):
    """A run of the venue. What is left open of the wire is taken from the run's own feeds, the weakest of each."""

    node: Annotated[Id, Field(description="Id of the node.")]
    channel: ChannelNumber
    level: Annotated[float, Field(ge=0, le=1, description="Of every emitter, 0 to 1 of full white.")] = 1.0
    minimum_volts: Annotated[
        float | None, Field(gt=0, le=60, description="Volts that every pixel must keep; its type's lowest without it.")
    ] = None
    supply: Annotated[Id | None, Field(description="Id of the supply to feed from, if the run has no feed yet.")] = None
    wire_mm2: WireMm2 = None
    wire_awg: WireAwg = None
    length_m: Annotated[
        float | None, Field(gt=0, le=500, description="One-way length of each feed, metres; all are taken alike.")
    ] = None


@dataclass(frozen=True, slots=True)
class _Plan:
    """Feeds of a whole run, confirmed; without `at_pixels` where none serve."""

    placed: list[Placed]
    at_pixels: list[int]
    volts: Volts
    feed_a: Volts


def fewest_feeds(circuits: Circuits, question: FeedsQuestion) -> Advice:
    """The fewest feeds of a run and their places, section by section where its positive rail is cut.

    Raises NotFoundError for an unknown node, channel or supply, InvalidError where the wire is not known.
    """
    place, circuit = _run_of(circuits, question)
    feeds = _feeds_by_section(circuits, circuit, question)
    minimum_v = circuit.kind.minimum_volts if question.minimum_volts is None else question.minimum_volts
    plan = _plan(circuits, place, question.level, minimum_v, feeds)
    values: dict[str, Value] = {}
    confirmation = " ".join(one.text for one in plan.placed)
    cautions = [*CAUTIONS, *_assumptions(circuit)]
    if plan.at_pixels:
        volts, feed_a = plan.volts, plan.feed_a
        values = {
            "feeds": len(plan.at_pixels),
            "at_pixels": plan.at_pixels,
            "supplies": ", ".join(one.section.supply for one in plan.placed for _at in one.places or ()),
            "feed_a": np.round(feed_a, 4).tolist(),
            "lowest_v": round(float(volts.min()), 4),
            "lowest_at_pixel": int(volts.argmin()),
            "volts": np.round(volts, 4).tolist(),
        }
        confirmation = (
            f"The solver confirms, with the supplies' other runs at the same level: lowest {volts.min():.4g} V at "
            f"pixel {volts.argmin()}. {confirmation}"
        )
        cautions += _overloads(circuits, feeds, plan, question.level, place)
    return Advice(
        question=f"How few feeds does channel {question.channel} of {question.node} need, and where?",
        answer=_answer(question, minimum_v, plan),
        found=bool(plan.at_pixels),
        values=values,
        formula=FORMULA,
        inputs={
            **question.inputs(),
            "pixels": circuit.run.pixels,
            "minimum_volts": minimum_v,
            "pixel_a": round(plan.placed[0].section.pixel_a, 6),
            "loop_ohm_per_m": circuit.loop_ohm_per_m,
            "pixels_per_m": circuit.run.pixels_per_m,
            "feed_ohm": round(plan.placed[0].section.feed_ohm, 6),
            "supply_volts": [one.section.source.volts for one in plan.placed],
            **_wire(feeds[0]),
        },
        source="Kirchhoff's laws; copper by IEC 60228 or ASTM B258, as in the advice on wire; currents and lowest "
        f"volts by pixel type: {_type_source(circuit)}",
        confirmation=confirmation,
        cautions=cautions,
    )


def _plan(circuits: Circuits, place: int, level: float, minimum_v: float, feeds: Sequence[Feed]) -> _Plan:
    """Feeds section by section. Sections of one supply share the negative rail, which may cost one of them a little:
    then all are placed again with that much in hand."""
    in_hand_v = 0.0
    for _attempt in range(_ATTEMPTS):
        sections = list(_sections(circuits, place, level, minimum_v + in_hand_v, feeds))
        placed = [place_feeds(section) for section in sections]
        if any(one.places is None for one in placed):
            break
        at_pixels = [one.section.first + at for one in placed for at in one.places or ()]
        volts, feed_a = confirm(circuits, place, level, sections, at_pixels)
        if volts.min() >= minimum_v - 1e-9:
            return _Plan(placed, at_pixels, volts, feed_a)
        in_hand_v += 1.05 * (minimum_v - float(volts.min()))
    return _Plan(placed, [], np.empty(0), np.empty(0))


def _run_of(circuits: Circuits, question: FeedsQuestion) -> tuple[int, RunCircuit]:
    if all(node.id != question.node for node in circuits.venue.nodes):
        raise NotFoundError("node", question.node)
    for place, circuit in enumerate(circuits.runs):
        if (circuit.node.id, circuit.channel.number) == (question.node, question.channel):
            return place, circuit
    raise NotFoundError("channel", f"{question.channel} of {question.node}")


def _feeds_by_section(circuits: Circuits, circuit: RunCircuit, question: FeedsQuestion) -> list[Feed]:
    """For each section a feed that stands for all of it: the supply of its first one, the weakest wire and length."""
    run = circuit.run
    own = list(run.feeds)
    if question.supply is not None and all(supply.id != question.supply for supply in circuits.venue.supplies):
        raise NotFoundError("supply", question.supply)
    if question.wire_mm2 is not None or question.wire_awg is not None:
        wire_area_mm2(question.wire_mm2, question.wire_awg)
    stated_wire = question.wire_mm2 is not None or question.wire_awg is not None
    missing = [] if own else [
        Mistake(f"query.{name}", "the run has no feed to take it from", f"give {name}")
        for name, given in (
            ("supply", question.supply is not None),
            ("wire_mm2", stated_wire),
            ("length_m", question.length_m is not None),
        )
        if not given
    ]  # fmt: skip
    if missing:
        raise InvalidError("the run has no feed yet: say what to feed it with", missing)
    thinnest = min(own, key=lambda feed: feed.area_mm2, default=None)
    wire_mm2, wire_awg = question.wire_mm2, question.wire_awg
    if not stated_wire and thinnest is not None:
        wire_mm2, wire_awg = thinnest.wire_mm2, thinnest.wire_awg
    length_m = question.length_m or max(feed.length_m for feed in own)
    conductor_c = max((feed.conductor_c for feed in own), default=30.0)
    chosen = []
    for first, end in _bounds(circuit):
        here = [feed.supply for feed in own if first <= feed.at_pixel < end]
        supply = question.supply or (here or [own[0].supply])[0]
        chosen.append(
            Feed(supply=supply, wire_mm2=wire_mm2, wire_awg=wire_awg, length_m=length_m, conductor_c=conductor_c)
        )
    return chosen


def _bounds(circuit: RunCircuit) -> list[tuple[int, int]]:
    edges = [0, *circuit.run.positive_cut_before, circuit.run.pixels]
    return list(itertools.pairwise(edges))


def _sections(
    circuits: Circuits, place: int, level: float, minimum_v: float, feeds: Sequence[Feed]
) -> Iterator[Section]:
    circuit = circuits.runs[place]
    others_a = _others_a(circuits, place, level)
    bounds = _bounds(circuit)
    pixel_a = (circuit.kind.idle_ma + level * (circuit.kind.full_pixel_ma - circuit.kind.idle_ma)) * 1e-3
    number = {supply.id: index for index, supply in enumerate(circuits.venue.supplies)}
    for (first, end), feed in zip(bounds, feeds, strict=True):
        supply = circuits.venue.supplies[number[feed.supply]]
        beside = sum(b - a for (a, b), other in zip(bounds, feeds, strict=True) if other.supply == feed.supply)
        # What the supply gives elsewhere is constant, so it only lowers the volts at its terminals.
        elsewhere_a = others_a[number[feed.supply]] + (beside - (end - first)) * pixel_a
        yield Section(
            first=first,
            pixels=end - first,
            pixel_a=pixel_a,
            step_ohm=circuit.loop_ohm_per_m / circuit.run.pixels_per_m,
            supply=supply.id,
            source=Source(supply.volts - supply.output_ohm * float(elsewhere_a), supply.output_ohm),
            feed_ohm=loop_ohm(feed),
            minimum_v=minimum_v,
        )


def _others_a(circuits: Circuits, place: int, level: float) -> Volts:
    """Per supply, what all runs but this one draw at `level`, amps."""
    pixels = circuits.pixels
    amps = pixels.idle_a + level * (pixels.full_a - pixels.idle_a)
    amps[pixels.starts[place] : pixels.starts[place + 1]] = 0.0
    return pixels.by_supply(amps)


def confirm(
    circuits: Circuits, place: int, level: float, sections: Sequence[Section], at_pixels: Sequence[int]
) -> tuple[Volts, Volts]:
    """Volts at every pixel of the run and amps of every feed, with feeds at `at_pixels`, the run solved as a whole."""
    circuit = circuits.runs[place]
    others_a = _others_a(circuits, place, level)
    supplies = circuits.venue.supplies
    sources = [
        Source(supply.volts - supply.output_ohm * float(amps), supply.output_ohm)
        for supply, amps in zip(supplies, others_a, strict=True)
    ]
    number = {supply.id: index for index, supply in enumerate(supplies)}
    feeds = tuple(
        FeedWire(number[section.supply], at, section.feed_ohm)
        for at in at_pixels
        for section in sections
        if section.first <= at < section.first + section.pixels
    )
    ladder = Ladder(
        load_a=np.full(circuit.run.pixels, sections[0].pixel_a),
        step_ohm=sections[0].step_ohm,
        feeds=feeds,
        cuts=circuit.run.positive_cut_before,
    )
    solved = solve_network(sources, [ladder]).ladders[0]
    return solved.volts, solved.feed_a


def _overloads(circuits: Circuits, feeds: Sequence[Feed], plan: _Plan, level: float, place: int) -> list[str]:
    """What the answer does not settle: amps of wires and supplies."""
    bears_a = ampacity_a(feeds[0].area_mm2)
    cautions = []
    if plan.feed_a.max() > bears_a:
        cautions.append(f"A feed carries {plan.feed_a.max():.3g} A and its wire bears {bears_a:.3g} A: thicken it.")
    others_a = _others_a(circuits, place, level)
    for index, supply in enumerate(circuits.venue.supplies):
        sections = (one.section for one in plan.placed)
        own_a = sum(section.pixels * section.pixel_a for section in sections if section.supply == supply.id)
        if own_a and own_a + others_a[index] > supply.budget_a:
            cautions.append(_beyond(supply, own_a + float(others_a[index])))
    return cautions


def _beyond(supply: Supply, amps: float) -> str:
    return (
        f"At this level supply {supply.id} gives {amps:.3g} A and its budget is {supply.budget_a:.3g} A: volts alone "
        "do not make it safe; lower the level or fit a larger supply."
    )


def _assumptions(circuit: RunCircuit) -> list[str]:
    if circuit.run.loop_ohm_per_m is not None:
        return []
    return [
        f"The run's copper was never measured: {circuit.loop_ohm_per_m:g} ohms per metre, both rails, are assumed. "
        "Measure it and say so in `loop_ohm_per_m`."
    ]


def _wire(feed: Feed) -> dict[str, Value]:
    size: dict[str, Value] = (
        {"wire_mm2": feed.wire_mm2} if feed.wire_mm2 is not None else {"wire_awg": feed.wire_awg or 0}
    )
    return {**size, "length_m": feed.length_m, "conductor_c": feed.conductor_c}


def _type_source(circuit: RunCircuit) -> str:
    sources = circuit.kind.sources
    return "the venue's" if sources is None else f"{sources.of('full_ma')} {sources.of('minimum_volts')}"


def _answer(question: FeedsQuestion, minimum_v: float, plan: _Plan) -> str:
    at = f"at {question.level:.0%} of full white"
    if plan.at_pixels:
        one = len(plan.at_pixels) == 1
        return (
            f"Feed it at {'one feed' if one else f'{len(plan.at_pixels)} feeds'}, pixel{'' if one else 's'} "
            f"{', '.join(map(str, plan.at_pixels))}: {at} no pixel falls below {minimum_v:g} V, the lowest has "
            f"{plan.volts.min():.4g} V."
        )
    stuck = next((one.section for one in plan.placed if one.places is None), plan.placed[0].section)
    where = "" if len(plan.placed) == 1 else f" from pixel {stuck.first} on"
    return (
        f"No number of feeds up to {MAX_FEEDS_PER_RUN} keeps {minimum_v:g} V{where} {at}: use thicker or shorter "
        "wires, a lower level, or pixels of higher volts."
    )

"""What is wrong or unknown in a venue's wiring, in words, with what to do about it. Pure."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from hub.audit.figures import exceeds
from hub.audit.wiring import Solutions, fuse_kind
from hub.audit.wiring_view import FeedAudit, Note, RunAudit, Weight, Wiring
from hub.electrical.ampacity import ampacity_a
from hub.electrical.circuits import Circuits
from hub.electrical.copper import IEC_60228_FLEXIBLE_OHM_PER_KM
from hub.electrical.fuses import MOST_OF_FUSE, largest_rating_a
from hub.electrical.levels import Level
from hub.electrical.network import NetworkSolution

BACKFED_A: Final = 0.01


def wiring_notes(circuits: Circuits, solutions: Solutions, runs: Sequence[RunAudit]) -> list[Note]:
    """All notes, faults first, each kind in the venue's order."""
    volts = {supply.id: supply.volts for supply in circuits.venue.supplies}
    notes = [*_paralleled(circuits, solutions[Level.UNDER_BUDGET], runs)]
    for run in runs:
        notes += _low_volts(run)
        for feed in run.feeds:
            notes += _feed_notes(run, feed, volts[feed.supply])
    return sorted(notes, key=lambda note: note.weight is not Weight.FAULT)


def wiring_of(notes: Iterable[Note]) -> Wiring:
    """What notes come to."""
    weights = {note.weight for note in notes}
    if Weight.FAULT in weights:
        return Wiring.FAULT
    return Wiring.ATTENTION if weights else Wiring.SOUND


def _paralleled(circuits: Circuits, solution: NetworkSolution, runs: Sequence[RunAudit]) -> Iterator[Note]:
    supplies = circuits.venue.supplies
    for place, first, second in solution.paralleled:
        run = runs[place]
        backwards = min((feed.under_budget_a for feed in run.feeds), default=0.0)
        fed_back = f"; one of them is fed {-backwards:.2f} A backwards" if backwards < -BACKFED_A else ""
        yield _note(
            run,
            None,
            Weight.FAULT,
            f"the supplies {supplies[first].id!r} and {supplies[second].id!r} are joined by its positive rail: they "
            f"push against each other, and either feeds a fault of the other{fed_back}",
            "cut the positive rail between their feeds, keep the negative one whole, and state `positive_cut_before`",
            [supplies[first].id, supplies[second].id],
        )


def _low_volts(run: RunAudit) -> Iterator[Note]:
    by_level = {lowest.level: lowest for lowest in run.lowest}
    supplies = list(dict.fromkeys(feed.supply for feed in run.feeds))
    for level, weight, when in (
        (Level.TYPICAL, Weight.FAULT, "at its typical draw already"),
        (Level.UNDER_BUDGET, Weight.ATTENTION, "when all is as bright as the budget lets it"),
    ):
        lowest = by_level.get(level)
        if lowest is not None and lowest.pixels_below_minimum:
            pixels = lowest.pixels_below_minimum
            left = f"{lowest.volts:.2f} V" if lowest.volts > 0 else "its copper and wires leave no volts"
            yield _note(
                run,
                lowest.at_pixel,
                weight,
                f"{left} at pixel {lowest.at_pixel} {when}; its type works down to {run.minimum_v:g} V; "
                f"pixels below that: {pixels}. Colours shift there, and data may fail",
                f"feed it at more places (`stringcourse advice feeds {run.node} --channel {run.channel}`), thicken the "
                "wires, or lower the level",
                supplies,
            )
            return


def _feed_notes(run: RunAudit, feed: FeedAudit, volts: float) -> Iterator[Note]:
    carries_a = abs(feed.under_budget_a)
    protects_a = largest_rating_a(feed.ampacity_a, fuse_kind(volts))
    fuses = ", ".join(f"{rating:g}" for rating in feed.fitting_fuses_a)
    if exceeds(feed.loaded_a, feed.ampacity_a):
        yield _note(
            run,
            feed.at_pixel,
            Weight.FAULT,
            f"the feed at pixel {feed.at_pixel} carries {feed.loaded_a:.2f} A under the budget; its wire of "
            f"{feed.wire} bears {feed.ampacity_a:.1f} A",
            _thicker(feed.loaded_a),
            [feed.supply],
        )
    if feed.fuse_a is None:
        fit = (
            f"fit {fuses} A close to the supply" if fuses else "no standard fuse fits between the two: thicken the wire"
        )
        yield _note(
            run,
            feed.at_pixel,
            Weight.ATTENTION,
            f"no fuse is stated for the feed at pixel {feed.at_pixel}: without the budget it may carry "
            f"{feed.worst_case_a:.2f} A and in a fault more, and its wire of {feed.wire} bears {feed.ampacity_a:.1f} A",
            f"{fit}, and say so in `fuse_a`",
            [feed.supply],
        )
    elif exceeds(feed.fuse_a, protects_a):
        yield _note(
            run,
            feed.at_pixel,
            Weight.FAULT,
            f"the fuse of {feed.fuse_a:g} A in the feed at pixel {feed.at_pixel} does not protect its wire of "
            f"{feed.wire}, which bears {feed.ampacity_a:.1f} A",
            f"fit {fuses} A instead" if fuses else _thicker(max(carries_a / MOST_OF_FUSE, feed.fuse_a)),
            [feed.supply],
        )
    elif exceeds(carries_a, feed.fuse_a * MOST_OF_FUSE):
        yield _note(
            run,
            feed.at_pixel,
            Weight.ATTENTION,
            f"the feed at pixel {feed.at_pixel} carries {carries_a:.2f} A under the budget, more than "
            f"{MOST_OF_FUSE:g} of its fuse of {feed.fuse_a:g} A: it ages and may blow",
            f"fit {fuses} A" if fuses else "part the run over more feeds",
            [feed.supply],
        )


def _thicker(carries_a: float) -> str:
    fitting = (area for area in IEC_60228_FLEXIBLE_OHM_PER_KM if not exceeds(carries_a, ampacity_a(area)))
    area_mm2 = next(fitting, None)
    return "part the run over more feeds" if area_mm2 is None else f"use {area_mm2:g} mm² or more, or more feeds"


def _note(run: RunAudit, at_pixel: int | None, weight: Weight, text: str, remedy: str, supplies: list[str]) -> Note:
    return Note(
        weight=weight,
        node=run.node,
        channel=run.channel,
        at_pixel=at_pixel,
        supplies=supplies,
        text=text,
        remedy=remedy,
    )

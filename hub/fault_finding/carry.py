"""What to carry up the ladder: tools, and spares with their sizes from the inventory. One function an item."""

import math
from collections.abc import Iterator
from typing import Final

from hub.audit.wiring import fuse_kind
from hub.fault_finding.figures import wire_of
from hub.fault_finding.knowledge import Knowledge
from hub.fault_finding.view import CarriedItem

PRACTICE: Final = "common practice, no source"
INVENTORY: Final = "the inventory"
UNSTATED: Final = "not in the inventory: read it on the part before you climb"
SPARE_PIXELS: Final = 3
CAPACITOR_RATINGS_V: Final = (6.3, 10.0, 16.0, 25.0, 35.0, 50.0, 63.0, 100.0)
"""Usual ratings of electrolytic capacitors: the R5 and R10 steps of IEC 60063, from memory."""
CAPACITOR_MARGIN: Final = 1.2
MAX_LIKE_ITEMS: Final = 6


def wiring_sheet(know: Knowledge) -> Iterator[CarriedItem]:
    yield CarriedItem(what="Wiring sheet", size=f"of {know.node.id}, printed", source="`stringcourse wiring`")


def meter(know: Knowledge) -> Iterator[CarriedItem]:
    highest = max((supply.volts for supply in know.supplies), default=0.0)
    size = f"DC volts, range above {highest:g} V, and continuity" if highest else "DC volts and continuity"
    yield CarriedItem(what="Multimeter, with probes that are bare at the tips only", size=size, source=PRACTICE)


def joining_tools(_know: Knowledge) -> Iterator[CarriedItem]:
    yield CarriedItem(
        what="Cutters, wire stripper, soldering iron or crimps, heat-shrink sleeve",
        size="for the wires of this run",
        source=PRACTICE,
    )


def spare_pixels(know: Knowledge) -> Iterator[CarriedItem]:
    if (run := know.run) is None or (kind := know.kind) is None:
        yield CarriedItem(what="Spare pixels", size=UNSTATED, source=INVENTORY)
        return
    size = f"{SPARE_PIXELS} of {kind.key} ({kind.title}), order {kind.colour_order}, {run.pixels_per_m:g} a metre"
    yield CarriedItem(what="Spare pixels of the same kind", size=size, source=INVENTORY)


def fuses(know: Knowledge) -> Iterator[CarriedItem]:
    """Those of the feeds, alike ones once."""
    volts = {supply.id: supply.volts for supply in know.supplies}
    places: dict[tuple[float | None, str], list[str]] = {}
    for feed in know.feeds:
        kind = fuse_kind(volts.get(feed.supply, 0.0)).value
        places.setdefault((feed.fuse_a, kind), []).append(f"pixel {feed.at_pixel} from {feed.supply}")
    for (rated_a, kind), of in list(places.items())[:MAX_LIKE_ITEMS]:
        rating = UNSTATED if rated_a is None else f"{rated_a:g} A {kind}, two of them"
        where = ", ".join(of[:MAX_LIKE_ITEMS])
        yield CarriedItem(
            what="Fuses of the same rating, never larger", size=f"{rating}; feed at {where}", source=INVENTORY
        )
    if not places:
        yield CarriedItem(what="Fuses of the same rating, never larger", size=UNSTATED, source=INVENTORY)


def feed_wire(know: Knowledge) -> Iterator[CarriedItem]:
    """Wire for a feed, both conductors; alike ones once, the longest."""
    longest: dict[str, float] = {}
    for feed in know.feeds:
        longest[wire_of(feed)] = max(longest.get(wire_of(feed), 0.0), feed.length_m)
    for wire, length_m in list(longest.items())[:MAX_LIKE_ITEMS]:
        size = f"{wire} or thicker, two conductors of {math.ceil(length_m * 10) / 10:g} m and a little over"
        yield CarriedItem(what="Feed wire", size=size, source=INVENTORY)
    if not longest:
        yield CarriedItem(what="Feed wire", size=UNSTATED, source=INVENTORY)


def level_shifter(know: Knowledge) -> Iterator[CarriedItem]:
    timing = None if know.kind is None else know.kind.timing.protocol
    lines = "data and clock" if timing == "clocked" else "data"
    size = f"3.3 V in, 5 V out, for {lines}; its supply pins at 5 V and 0 V"
    yield CarriedItem(
        what="Level shifter", size=size, source="pixels read 0.7 of 5 V as high (their data sheets, from memory)"
    )


def data_wire(_know: Knowledge) -> Iterator[CarriedItem]:
    size = "data wire with a 0 V wire beside it, as long as the line, and a series resistor of 300 to 500 Ω"
    yield CarriedItem(what="Data line to try", size=size, source=PRACTICE)


def ground_wire(_know: Knowledge) -> Iterator[CarriedItem]:
    size = "0 V wire from the board to the supply's negative, no thinner than the data line's own"
    yield CarriedItem(what="Wire for the common ground", size=size, source=PRACTICE)


def capacitor(know: Knowledge) -> Iterator[CarriedItem]:
    highest = max((supply.volts for supply in know.supplies), default=0.0)
    rating = next((one for one in CAPACITOR_RATINGS_V if one >= highest * CAPACITOR_MARGIN), CAPACITOR_RATINGS_V[-1])
    size = f"about 1000 µF, {rating:g} V or more; its + to the +" if highest else UNSTATED
    yield CarriedItem(what="Capacitor across + and – where power enters the run", size=size, source=PRACTICE)


def spare_supply(know: Knowledge) -> Iterator[CarriedItem]:
    for supply in know.supplies[:MAX_LIKE_ITEMS]:
        size = f"{supply.volts:g} V DC, {supply.rated_a:g} A or more, in the place of {supply.id}"
        yield CarriedItem(what="Spare supply", size=size, source=INVENTORY)
    if not know.supplies:
        yield CarriedItem(what="Spare supply", size=UNSTATED, source=INVENTORY)


def spare_board(know: Knowledge) -> Iterator[CarriedItem]:
    size = f"{know.node.outputs} data outputs, its card written, with a credential of its own"
    yield CarriedItem(
        what="Spare board", size=size, source=f"`stringcourse node credential {know.node.id} FILE` makes the credential"
    )


def network_cable(_know: Knowledge) -> Iterator[CarriedItem]:
    yield CarriedItem(
        what="Network cable that is known to be good", size="as long as the one in place", source=PRACTICE
    )


def board_supply(know: Knowledge) -> Iterator[CarriedItem]:
    size = UNSTATED if know.board_supply is None else f"the board hangs on supply {know.board_supply}"
    yield CarriedItem(what="Lead and plug that power the board", size=size, source=INVENTORY)

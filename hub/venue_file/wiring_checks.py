"""Checks of boards, channels, runs and feeds."""

import math
from collections.abc import Iterator

from hub.venue_file.fault import Fault, Where
from hub.venue_file.index import VenueIndex
from schemas.pixel_type import PixelType
from schemas.venue import Node, Run


def wiring_faults(index: VenueIndex) -> Iterator[Fault]:
    """Everything wrong with the wiring, in the order of the venue."""
    for place, node in enumerate(index.venue.nodes):
        where: Where = ("nodes", place)
        yield from _tag_faults(node, where)
        if node.powered_by is not None and node.powered_by not in index.names["supply"]:
            yield Fault(
                (*where, "powered_by"),
                f"no supply {node.powered_by!r}",
                index.remedy_for_dangling(node.powered_by, "supply"),
            )
        yield from _output_faults(node, where)
        for channel_place, channel in enumerate(node.channels):
            yield from _run_faults(channel.run, (*where, "channels", channel_place, "run"), index)


def _tag_faults(node: Node, where: Where) -> Iterator[Fault]:
    for place, tag in enumerate(node.tags):
        if tag in node.tags[:place]:
            yield Fault((*where, "tags", place), f"the tag {tag!r} stands twice", "keep one of them")


def _output_faults(node: Node, where: Where) -> Iterator[Fault]:
    numbers: dict[int, int] = {}
    lines: dict[str, int] = {}
    for place, channel in enumerate(node.channels):
        here = (*where, "channels", place)
        if channel.number > node.outputs:
            yield Fault(
                (*here, "number"),
                f"channel {channel.number}, but the board {node.id!r} has {_count(node.outputs, 'output')}",
                "move the run to another board, or correct `outputs`",
            )
        if channel.number in numbers:
            yield Fault(
                (*here, "number"),
                f"two runs on one output: channel {channel.number} of {node.id!r} is taken by "
                f"channels[{numbers[channel.number]}]",
                "give each run a channel of its own",
            )
        numbers.setdefault(channel.number, place)
        line = _data_line(channel.pin)
        if line in lines:
            taken = node.channels[lines[line]].pin
            how = "is taken by" if taken == channel.pin else f"has one data line with {taken!r} of"
            yield Fault(
                (*here, "pin"),
                f"two runs on one output: pin {channel.pin!r} of {node.id!r} {how} channels[{lines[line]}]",
                "give each channel a pin with a data line of its own",
            )
        lines.setdefault(line, place)


def _data_line(pin: str) -> str:
    """Ports of one SPI bus, such as spidev0.0 and spidev0.1, differ in their select only, which stays unwired."""
    return pin.partition(".")[0] if pin.startswith("spidev") else pin


def _run_faults(run: Run, where: Where, index: VenueIndex) -> Iterator[Fault]:
    kind = index.pixel_types.get(run.pixel_type)
    if kind is None and run.pixel_type not in index.names["pixel type"]:
        yield Fault(
            (*where, "pixel_type"),
            f"there is no pixel type {run.pixel_type!r}",
            index.remedy_for_dangling(run.pixel_type, "pixel type"),
        )
    if run.white_emitter_k is not None and kind is not None and "W" not in kind.colour_order:
        yield Fault(
            (*where, "white_emitter_k"),
            f"the pixel type {kind.key!r} has no white emitter: its colours are {kind.colour_order}",
            "leave it out, or correct the pixel type; for the look of white here, give the zone a white_point_k",
        )
    if not run.feeds:
        yield Fault(
            (*where, "feeds"),
            "no supply feeds this channel",
            "add a feed with supply, at_pixel, wire_mm2 (or wire_awg) and length_m",
        )
    at_pixels: dict[int, int] = {}
    for place, feed in enumerate(run.feeds):
        here = (*where, "feeds", place)
        if feed.at_pixel >= run.pixels:
            yield Fault(
                (*here, "at_pixel"),
                f"the feed joins at pixel {feed.at_pixel}, past the end of its run: the last pixel is {run.pixels - 1}",
                f"use 0 to {run.pixels - 1}, or correct `pixels`",
            )
        if feed.at_pixel in at_pixels:
            yield Fault(
                (*here, "at_pixel"),
                f"two feeds at one pixel: feeds[{at_pixels[feed.at_pixel]}] joins at pixel {feed.at_pixel} too",
                "move one of them, or keep one",
            )
        at_pixels.setdefault(feed.at_pixel, place)
        yield from _supply_faults(feed.supply, kind, here, index)
    yield from _cut_faults(run, where)


def _cut_faults(run: Run, where: Where) -> Iterator[Fault]:
    before = 0
    for place, cut in enumerate(run.positive_cut_before):
        here = (*where, "positive_cut_before", place)
        if cut >= run.pixels:
            yield Fault(
                here,
                f"the cut lies before pixel {cut}, past the end of its run: the last pixel is {run.pixels - 1}",
                f"use 1 to {run.pixels - 1}, or correct `pixels`",
            )
            return
        if cut <= before:
            yield Fault(here, f"the cut before pixel {cut} follows one before {before}", "list cuts once, in order")
            return
        before = cut
    ends = (*run.positive_cut_before, run.pixels)
    for place, (first, end) in enumerate(zip((0, *run.positive_cut_before), ends, strict=True)):
        if run.feeds and len(ends) > 1 and not any(first <= feed.at_pixel < end for feed in run.feeds):
            yield Fault(
                (*where, "positive_cut_before", min(place, len(ends) - 2)),
                f"no feed joins pixels {first} to {end - 1}, which the cuts of the positive rail part from the rest",
                "add a feed there, or leave the rail whole",
            )


def _supply_faults(supply_id: str, kind: PixelType | None, where: Where, index: VenueIndex) -> Iterator[Fault]:
    supply = index.supplies.get(supply_id)
    if supply is None:
        if supply_id not in index.names["supply"]:
            yield Fault(
                (*where, "supply"),
                f"there is no supply {supply_id!r}",
                index.remedy_for_dangling(supply_id, "supply"),
            )
    elif kind is not None and not math.isclose(supply.volts, kind.volts, rel_tol=1e-6):
        yield Fault(
            (*where, "supply"),
            f"supply {supply.id!r} gives {supply.volts:g} V, but the pixel type {kind.key!r} takes {kind.volts:g} V",
            f"feed it from a supply of {kind.volts:g} V, or correct the pixel type; do not switch it on as it is",
        )


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}{'' if number == 1 else 's'}"

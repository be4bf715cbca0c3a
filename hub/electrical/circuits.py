"""A venue as the network that the solver takes: its supplies as sources, its runs as ladders. Pure."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from hub.desired.compile import pixel_types_of
from hub.electrical.copper import RESISTIVITY_OHM_MM2_PER_M, loop_ohm
from hub.electrical.levels import Amps, Level, PixelAmps, channels_of, pixel_amps
from hub.electrical.network import FeedWire, Ladder, NetworkSolution, Source, solve_network
from schemas import Channel, Node, PixelType, Run, Venue

_RAIL_MM2: Final = 0.070 * 5.0
ASSUMED_LOOP_OHM_PER_M: Final = round(2 * RESISTIVITY_OHM_MM2_PER_M / _RAIL_MM2, 2)
"""0.10 ohms: two rails of copper 70 µm thick (two ounces a square foot) and 5 mm wide at 20 °C. Common practice, no
source: makers seldom state it, and thinner copper is sold too."""


@dataclass(frozen=True, slots=True, eq=False)
class Circuits:
    """The network of a venue without its loads: `sources` in the order of the venue's supplies, runs in its order."""

    venue: Venue
    pixels: PixelAmps
    sources: tuple[Source, ...]
    runs: tuple["RunCircuit", ...]

    def at(self, level: Level) -> NetworkSolution:
        """Volts and amps with every pixel at `level`; ladders in the order of `runs`."""
        return self.solve(self.pixels.at(level))

    def solve(self, amps: Amps) -> NetworkSolution:
        """Volts and amps with every pixel drawing `amps`, shape (pixels,)."""
        ladders = [run.ladder(load_a) for run, load_a in zip(self.runs, self.pixels.by_run(amps), strict=True)]
        return solve_network(self.sources, ladders)


@dataclass(frozen=True, slots=True, eq=False)
class RunCircuit:
    """One run with its wires worked out; `feeds` in the order in which the venue lists them."""

    node: Node
    channel: Channel
    kind: PixelType
    loop_ohm_per_m: float
    feeds: tuple[FeedWire, ...]

    @property
    def run(self) -> Run:
        return self.channel.run

    def ladder(self, load_a: Amps) -> Ladder:
        return Ladder(
            load_a=load_a,
            step_ohm=self.loop_ohm_per_m / self.run.pixels_per_m,
            feeds=self.feeds,
            cuts=self.run.positive_cut_before,
            minimum_v=self.kind.minimum_volts,
            current_falls=self.kind.current_below_minimum == "falls",
        )


def venue_circuits(venue: Venue) -> Circuits:
    """The network of `venue`, which must be without mistakes (`hub.venue_file.check_venue`)."""
    return Circuits(
        venue=venue,
        pixels=pixel_amps(venue),
        sources=tuple(Source(supply.volts, supply.output_ohm) for supply in venue.supplies),
        runs=tuple(_run_circuits(venue)),
    )


def _run_circuits(venue: Venue) -> Iterator[RunCircuit]:
    kinds = pixel_types_of(venue)
    index = {supply.id: place for place, supply in enumerate(venue.supplies)}
    for node, channel in channels_of(venue):
        run = channel.run
        wires = tuple(FeedWire(index[feed.supply], feed.at_pixel, loop_ohm(feed)) for feed in run.feeds)
        loop = ASSUMED_LOOP_OHM_PER_M if run.loop_ohm_per_m is None else run.loop_ohm_per_m
        yield RunCircuit(node, channel, kinds[run.pixel_type], loop, wires)

"""One node's wiring as its sheet tells it: what hangs on what, under the names that drawing and tables share. Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import islice, pairwise
from typing import Final

from hub.audit.wiring import wire_words
from hub.desired.compile import pixel_types_of
from hub.errors import NotFoundError
from node_agent.power import feed_of_pixel
from schemas import Channel, Node, PixelType, Supply, Venue

LOGIC_V: Final = 3.3
"""What a Linux board's outputs give: common practice, no source."""
_CAPACITOR_V: Final = (6.3, 10, 16, 25, 35, 50, 63, 100)


@dataclass(frozen=True, slots=True)
class FeedWiring:
    """One feed, `F1.2`: second along the run of channel 1. `worst_case_a`: its nearest pixels, every emitter full."""

    name: str
    supply: str
    supply_name: str
    at_pixel: int
    wire: str
    length_m: float
    fuse_a: float | None
    worst_case_a: float
    enters_section: bool

    @property
    def fuse(self) -> str:
        return "fuse: not stated" if self.fuse_a is None else f"fuse {self.fuse_a:g} A"


@dataclass(frozen=True, slots=True)
class ChannelWiring:
    """One data output and its run; feeds in their order along the run."""

    number: int
    pin: str
    pixel_type: PixelType
    pixels: int
    pixels_per_m: float
    cuts: tuple[int, ...]
    feeds: tuple[FeedWiring, ...]

    @property
    def length_m(self) -> float:
        return self.pixels / self.pixels_per_m

    @property
    def clocked(self) -> bool:
        return self.pixel_type.timing.protocol == "clocked"

    @property
    def needs_level_shifter(self) -> bool:
        """5 V pixels want a higher data level than the board gives (common practice, no source)."""
        return LOGIC_V < self.pixel_type.volts <= 5.5

    @property
    def level_shifter(self) -> str:
        if self.needs_level_shifter:
            return "3.3 to 5 V"
        return "see data sheet" if self.may_need_level_shifter else "none"

    @property
    def may_need_level_shifter(self) -> bool:
        """Pixels of more volts make their own logic supply, mostly 5 V: their data sheet tells."""
        return self.pixel_type.volts > 5.5

    @property
    def capacitor_v(self) -> float:
        """The usual rating that leaves half of the supply's volts to spare (common practice, no source)."""
        return next(volts for volts in _CAPACITOR_V if volts >= 1.5 * self.pixel_type.volts)


@dataclass(frozen=True, slots=True)
class SupplyWiring:
    """A supply that this node hangs on. Its name is its place in the venue, so it is the same on every sheet."""

    name: str
    supply: Supply
    feeds: tuple[str, ...]
    other_nodes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NodeWiring:
    """Everything on one node's sheet. `warnings` are what must be put right before it is powered."""

    venue: str
    venue_title: str
    node: str
    title: str | None
    outputs: int
    channels: tuple[ChannelWiring, ...]
    supplies: tuple[SupplyWiring, ...]
    warnings: tuple[str, ...]


class VenueWiring:
    """The wiring of a venue's nodes; what they share is worked out once."""

    def __init__(self, venue: Venue) -> None:
        self._venue = venue
        self._pixel_types = pixel_types_of(venue)
        self._nodes = {node.id: node for node in venue.nodes}
        self._supplies = {supply.id: (f"S{place}", supply) for place, supply in enumerate(venue.supplies, start=1)}
        self._nodes_of: dict[str, list[str]] = {}
        for node in venue.nodes:
            for supply in dict.fromkeys(feed.supply for channel in node.channels for feed in channel.run.feeds):
                self._nodes_of.setdefault(supply, []).append(node.id)

    def node(self, node: str) -> NodeWiring:
        """Raises NotFoundError."""
        if node not in self._nodes:
            raise NotFoundError("node", node)
        return self._wiring(self._nodes[node])

    def nodes(self, first: int = 1, count: int | None = None) -> Iterator[NodeWiring]:
        """Nodes in the venue's order: `count` of them, or all, from the one at place `first`, from 1."""
        return map(self._wiring, islice(self._venue.nodes, first - 1, None if count is None else first - 1 + count))

    def _wiring(self, node: Node) -> NodeWiring:
        names = {supply: name for supply, (name, _) in self._supplies.items()}
        channels = tuple(
            _channel_wiring(channel, self._pixel_types[channel.run.pixel_type], names)
            for channel in sorted(node.channels, key=lambda channel: channel.number)
        )
        used = {feed.supply for channel in channels for feed in channel.feeds}
        return NodeWiring(
            venue=self._venue.id,
            venue_title=self._venue.title,
            node=node.id,
            title=node.title,
            outputs=node.outputs,
            channels=channels,
            supplies=tuple(
                SupplyWiring(
                    name=name,
                    supply=supply,
                    feeds=tuple(
                        feed.name for channel in channels for feed in channel.feeds if feed.supply == supply.id
                    ),
                    other_nodes=tuple(other for other in self._nodes_of[supply.id] if other != node.id),
                )
                for name, supply in self._supplies.values()
                if supply.id in used
            ),
            warnings=tuple(warning for channel in channels for warning in _warnings(channel)),
        )


def _channel_wiring(channel: Channel, kind: PixelType, names: Mapping[str, str]) -> ChannelWiring:
    run = channel.run
    feeds = sorted(run.feeds, key=lambda feed: feed.at_pixel)
    nearest = feed_of_pixel(feeds, run.positive_cut_before, run.pixels).tolist()
    sections = [sum(cut <= feed.at_pixel for cut in run.positive_cut_before) for feed in feeds]
    return ChannelWiring(
        number=channel.number,
        pin=channel.pin,
        pixel_type=kind,
        pixels=run.pixels,
        pixels_per_m=run.pixels_per_m,
        cuts=run.positive_cut_before,
        feeds=tuple(
            FeedWiring(
                name=f"F{channel.number}.{place + 1}",
                supply=feed.supply,
                supply_name=names[feed.supply],
                at_pixel=feed.at_pixel,
                wire=wire_words(feed),
                length_m=feed.length_m,
                fuse_a=feed.fuse_a,
                worst_case_a=nearest.count(place) * kind.full_pixel_ma / 1_000,
                enters_section=place == 0 or sections[place] != sections[place - 1],
            )
            for place, feed in enumerate(feeds)
        ),
    )


def _warnings(channel: ChannelWiring) -> Iterator[str]:
    if not channel.feeds:
        yield f"Channel {channel.number}: no feed is recorded. Do not power this run from the board's own pin."
    for one, other in pairwise(channel.feeds):
        joined = not any(one.at_pixel < cut <= other.at_pixel for cut in channel.cuts)
        if joined and one.supply != other.supply:
            yield (
                f"Channel {channel.number}: {one.supply_name} and {other.supply_name} are joined by the run between "
                f"pixel {one.at_pixel} and pixel {other.at_pixel}. Cut the positive rail there before power comes on, "
                "and record the cut."
            )

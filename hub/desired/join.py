"""All nodes of a venue as one body, so that the boards' own renderer and limiter serve a whole elevation at once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from node_agent.dither import NodeFrames
from node_agent.frame_rate import frame_period_s
from node_agent.power import NO_FEED
from schemas import Budget, DesiredBody, DesiredChannel, DesiredZone, Feed, PlacedSpan, Scene

_NO_FEED: Final = Feed(supply=NO_FEED, wire_mm2=1.0, length_m=1.0)


@dataclass(frozen=True, slots=True)
class JoinedVenue:
    """One body for the venue. Channels count on from 1 over all nodes; supplies are named `node/supply`.

    The body is for this process alone: it breaks the bounds of what may travel.
    """

    body: DesiredBody
    channels: tuple[tuple[str, int], ...]
    """(node, channel number) of channel 1, 2, 3 … of the body, which is the order of pixels in a frame."""
    first_pixel: Mapping[tuple[str, int], int]
    """Index in the frame of pixel 0 of each (node, channel)."""
    pixels: int
    node_frames: tuple[NodeFrames, ...]
    """Each node's part of the frame, in order, and how often that node shows one."""


def join_bodies(
    bodies: Mapping[str, DesiredBody], scenes: Sequence[Scene], shares: Mapping[str, Sequence[Budget]]
) -> JoinedVenue:
    """Join the bodies of a venue, as `compile_bodies` gives them; `scenes` are the venue's, with all their layers.

    `shares` are what each node may draw of its supplies, in place of the bodies' own budgets, which are the whole.
    """
    channels: list[DesiredChannel] = []
    places: list[tuple[str, int]] = []
    first_pixel: dict[tuple[str, int], int] = {}
    budgets: list[Budget] = []
    spans: dict[str, list[PlacedSpan]] = {}
    zones: dict[str, DesiredZone] = {}
    pixels = 0
    for node_id, body in bodies.items():
        numbers: dict[int, int] = {}
        for channel in body.channels:
            places.append((node_id, channel.number))
            numbers[channel.number] = len(places)
            first_pixel[node_id, channel.number] = pixels
            pixels += channel.pixels
            feeds = tuple(
                feed.model_copy(update={"supply": joined_supply(node_id, feed.supply)})
                for feed in channel.feeds or (_NO_FEED,)
            )
            channels.append(channel.model_copy(update={"number": len(places), "feeds": feeds}))
        budgets += [
            Budget.model_construct(supply=joined_supply(node_id, budget.supply), budget_a=budget.budget_a)
            for budget in shares[node_id]
        ]
        for zone in body.zones:
            zones.setdefault(zone.id, zone)
            spans.setdefault(zone.id, []).extend(
                span.model_copy(update={"channel": numbers[span.channel]}) for span in zone.spans
            )
    joined = DesiredBody.model_construct(
        frame_rate_limit_hz=None,
        telemetry_interval_s=1.0,
        master_level=next((body.master_level for body in bodies.values()), 1.0),
        channels=tuple(channels),
        budgets=tuple(budgets),
        zones=tuple(zone.model_copy(update={"spans": tuple(spans[zone.id])}) for zone in zones.values()),
        scenes=tuple(scenes),
        showing=None,
    )
    node_frames = tuple(
        NodeFrames(sum(channel.pixels for channel in body.channels), frame_period_s(body)) for body in bodies.values()
    )
    return JoinedVenue(joined, tuple(places), first_pixel, pixels, node_frames)


def joined_supply(node_id: str, supply: str) -> str:
    """The name of a node's share of a supply in a joined body; `split_supply` takes it apart."""
    return f"{node_id}/{supply}"


def split_supply(joined: str) -> tuple[str, str]:
    """(node, supply) of a joined name."""
    node_id, supply = joined.split("/")
    return node_id, supply

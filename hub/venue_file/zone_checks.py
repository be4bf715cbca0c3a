"""Checks of zones: spans inside their runs, no pixel in two zones of spans, groups without circles or repeats."""

from collections import defaultdict
from collections.abc import Iterator

from hub.venue_file.fault import Fault, Where
from hub.venue_file.index import VenueIndex
from schemas.venue import Span


def zone_faults(index: VenueIndex) -> Iterator[Fault]:
    """Everything wrong with the zones."""
    for place, zone in enumerate(index.venue.zones):
        for span_place, span in enumerate(zone.spans):
            yield from _span_faults(span, ("zones", place, "spans", span_place), index)
    yield from _overlaps(index)
    yield from _group_faults(index)


def leaves_of(index: VenueIndex) -> dict[str, frozenset[str]]:
    """Of each zone, the zones of spans that it comes down to; itself for a zone of spans. Circles are cut."""
    leaves: dict[str, frozenset[str]] = {}
    for zone_id in _members_first(index):
        zone = index.zones[zone_id]
        if zone.spans:
            leaves[zone_id] = frozenset((zone_id,))
        else:
            leaves[zone_id] = frozenset().union(*(leaves.get(member, frozenset()) for member in zone.of))
    return leaves


def _span_faults(span: Span, where: Where, index: VenueIndex) -> Iterator[Fault]:
    if span.node not in index.nodes:
        if span.node not in index.names["node"]:
            yield Fault(
                (*where, "node"),
                f"there is no node {span.node!r}",
                index.remedy_for_dangling(span.node, "node"),
            )
        return
    channel = index.channels.get((span.node, span.channel))
    if channel is None:
        numbers = sorted(channel.number for channel in index.nodes[span.node].channels)
        yield Fault(
            (*where, "channel"),
            f"node {span.node!r} has no channel {span.channel}",
            f"use one of {', '.join(map(str, numbers))}" if numbers else "give the node a channel with a run",
        )
        return
    end = span.first + span.pixels
    if end > channel.run.pixels:
        yield Fault(
            (*where, "pixels"),
            f"the span reaches pixel {end - 1}, past the end of its run: the last pixel of {span.node!r} "
            f"channel {span.channel} is {channel.run.pixels - 1}",
            "shorten the span, or correct `first`",
        )


def _overlaps(index: VenueIndex) -> Iterator[Fault]:
    # first, end, place of the zone, place of the span
    by_channel: dict[tuple[str, int], list[tuple[int, int, int, int]]] = defaultdict(list)
    for place, zone in enumerate(index.venue.zones):
        for span_place, span in enumerate(zone.spans):
            by_channel[span.node, span.channel].append((span.first, span.first + span.pixels, place, span_place))
    found: dict[tuple[int, int], Fault] = {}
    for (node, channel), stretches in by_channel.items():
        stretches.sort()
        furthest = stretches[0]
        for stretch in stretches[1:]:
            if stretch[0] < furthest[1]:
                earlier, later = sorted((furthest, stretch), key=lambda one: one[2:])
                last = min(stretch[1], furthest[1]) - 1
                found.setdefault(
                    later[2:],
                    Fault(
                        ("zones", later[2], "spans", later[3]),
                        f"pixels {stretch[0]} to {last} of {node!r} channel {channel} lie in "
                        f"zones[{earlier[2]}].spans[{earlier[3]}] (zone {index.venue.zones[earlier[2]].id!r}) already",
                        "a pixel may lie in one zone of spans only; join zones by `of` where both are meant",
                    ),
                )
            if stretch[1] > furthest[1]:
                furthest = stretch
    for key in sorted(found):
        yield found[key]


def _group_faults(index: VenueIndex) -> Iterator[Fault]:
    leaves = leaves_of(index)
    in_circle = _zones_in_circles(index)
    for place, zone in enumerate(index.venue.zones):
        held: dict[str, str] = {}
        seen: set[str] = set()
        for member_place, member in enumerate(zone.of):
            where = ("zones", place, "of", member_place)
            if member in seen:
                yield Fault(where, f"zone {member!r} is in this group twice", "keep it once")
                continue
            seen.add(member)
            if member not in index.zones:
                if member not in index.names["zone"]:
                    yield Fault(
                        where,
                        f"there is no zone {member!r}",
                        index.remedy_for_dangling(member, "zone"),
                    )
            elif (zone.id, member) in in_circle:
                yield Fault(
                    where, f"a circle: {member!r} leads back to {zone.id!r}", "take it out of one of the groups"
                )
            else:
                twice = sorted(leaf for leaf in leaves[member] if leaf in held)
                if twice:
                    yield Fault(
                        where,
                        f"zone {twice[0]!r} is in this group twice: by {held[twice[0]]!r} and by {member!r}",
                        "keep it once",
                    )
                held.update(dict.fromkeys(leaves[member], member))


def _members_first(index: VenueIndex) -> list[str]:
    """Zone ids so that members stand before the groups that join them (depth first, without recursion)."""
    order: list[str] = []
    begun: set[str] = set()
    for start in index.zones:
        stack = [(start, False)]
        while stack:
            zone_id, members_done = stack.pop()
            if members_done:
                order.append(zone_id)
            elif zone_id not in begun:
                begun.add(zone_id)
                stack.append((zone_id, True))
                stack.extend(
                    (member, False)
                    for member in dict.fromkeys(index.zones[zone_id].of)
                    if member in index.zones and member not in begun
                )
    return order


def _zones_in_circles(index: VenueIndex) -> set[tuple[str, str]]:
    """Pairs (group, member) that lie on a circle: both belong to one strongly connected part (Kosaraju)."""
    parents: dict[str, list[str]] = defaultdict(list)
    for zone in index.zones.values():
        for member in dict.fromkeys(zone.of):
            if member in index.zones:
                parents[member].append(zone.id)
    part: dict[str, str] = {}
    for root in reversed(_members_first(index)):
        stack = [root]
        while stack:
            zone_id = stack.pop()
            if zone_id not in part:
                part[zone_id] = root
                stack.extend(parents[zone_id])
    return {
        (zone.id, member) for zone in index.zones.values() for member in zone.of if part.get(member) == part[zone.id]
    }

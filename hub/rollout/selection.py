"""Which nodes a rollout is for: those that it names, those of its zones and those with its tags. Pure."""

from collections.abc import Collection, Iterable, Iterator
from typing import Final

from hub.errors import InvalidError, Mistake
from hub.nearest import Nearest
from hub.rollout.plan import Selection
from schemas import Venue

MOST_LISTED: Final = 6


def select_nodes(venue: Venue, select: Selection) -> tuple[str, ...]:
    """Ids of the selected nodes, each once, in the venue's order; all of them where the selection names nothing.

    Raises InvalidError with a mistake for every name that the venue does not have.
    """
    if not (select.nodes or select.zones or select.tags):
        return tuple(node.id for node in venue.nodes)
    tags = {tag for node in venue.nodes for tag in node.tags}
    mistakes = [
        *_unknown("nodes", "node", select.nodes, {node.id for node in venue.nodes}),
        *_unknown("zones", "zone", select.zones, {zone.id for zone in venue.zones}),
        *_unknown("tags", "tag", select.tags, tags),
    ]
    if mistakes:
        raise InvalidError("the selection names what the venue does not have", mistakes)
    chosen = set(select.nodes) | set(_nodes_of_zones(venue, select.zones))
    wanted_tags = set(select.tags)
    return tuple(node.id for node in venue.nodes if node.id in chosen or not wanted_tags.isdisjoint(node.tags))


def _unknown(field: str, noun: str, names: Iterable[str], known: Collection[str]) -> Iterator[Mistake]:
    nearest = Nearest()
    for place, name in enumerate(names):
        if name not in known:
            guess = nearest.among(name, known)
            remedy = f"did you mean {guess!r}?" if guess else _what_there_is(noun, known)
            yield Mistake(f"body.select.{field}[{place}]", f"the venue has no {noun} {name!r}", remedy)


def _what_there_is(noun: str, known: Collection[str]) -> str:
    if not known:
        return f"the venue has no {noun}s yet; select by something else"
    listed = ", ".join(sorted(known)[:MOST_LISTED])
    return f"it has {listed}" + (f" and {len(known) - MOST_LISTED} more" if len(known) > MOST_LISTED else "")


def _nodes_of_zones(venue: Venue, wanted: Iterable[str]) -> Iterator[str]:
    """Nodes with pixels in the zones, those that a zone joins included."""
    zones = {zone.id: zone for zone in venue.zones}
    left, seen = list(wanted), set[str]()
    while left:
        zone = zones[left.pop()]
        if zone.id not in seen:
            seen.add(zone.id)
            left += zone.of
            yield from (span.node for span in zone.spans)

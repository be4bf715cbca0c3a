"""A venue's parts by id, and guesses at ids that do not exist."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Self

from hub.desired.work_light import WORK_LIGHT
from hub.nearest import Nearest
from hub.venue_file.fault import Unreadable
from schemas.pixel_catalogue import PIXEL_CATALOGUE
from schemas.pixel_type import PixelType
from schemas.scene import Scene
from schemas.venue import Channel, Node, Supply, Venue, Zone

MOST_LISTED = 6


@dataclass(slots=True)
class VenueIndex:
    """Parts by id; where an id is used twice, the first stands. Pixel types include the catalogue's.

    `names` are the ids that there are of each noun, those of unreadable items and the built-in work light too.
    """

    venue: Venue
    supplies: Mapping[str, Supply]
    nodes: Mapping[str, Node]
    channels: Mapping[tuple[str, int], Channel]
    zones: Mapping[str, Zone]
    scenes: Mapping[str, Scene]
    pixel_types: Mapping[str, PixelType]
    names: Mapping[str, frozenset[str]]
    nearest: Nearest = field(default_factory=Nearest)

    @classmethod
    def of(cls, venue: Venue, unreadable: Unreadable) -> Self:
        supplies = {supply.id: supply for supply in reversed(venue.supplies)}
        nodes = {node.id: node for node in reversed(venue.nodes)}
        zones = {zone.id: zone for zone in reversed(venue.zones)}
        scenes = {scene.id: scene for scene in reversed(venue.scenes)}
        pixel_types = {**{kind.key: kind for kind in reversed(venue.pixel_types)}, **PIXEL_CATALOGUE}
        return cls(
            venue=venue,
            supplies=supplies,
            nodes=nodes,
            channels={
                (node.id, channel.number): channel
                for node in reversed(venue.nodes)
                for channel in reversed(node.channels)
            },
            zones=zones,
            scenes=scenes,
            pixel_types=pixel_types,
            names={
                "supply": unreadable.supplies.union(supplies),
                "node": unreadable.nodes.union(nodes),
                "zone": unreadable.zones.union(zones),
                "scene": unreadable.scenes.union(scenes, (WORK_LIGHT,)),
                "pixel type": unreadable.pixel_types.union(pixel_types),
            },
        )

    def remedy_for_dangling(self, missing: str, noun: str) -> str:
        """What to do about an id that nothing has: the one that was probably meant, or what there is."""
        known = self.names[noun]
        if guess := self.nearest.among(missing, known):
            return f"did you mean {guess!r}?"
        if not known:
            return f"add a {noun} with that id; there is none yet"
        if len(known) <= MOST_LISTED:
            return f"use one of {', '.join(sorted(known))}, or add it"
        return f"add a {noun} with that id, or correct the id"

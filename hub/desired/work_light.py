"""The work light: a plain white on every node, ready on every board without anyone having designed it. Pure.

It is for the people who work in a venue, and for the moment when they must see. 4,000 K is neutral white by ANSI
C78.377; half of full light is common practice (no source) for white on pixels that are made for effects. The budget
limiter is over it as over every scene.
"""

from collections.abc import Mapping
from typing import Final

from node_agent.render.patterns.wash import Wash
from schemas import DesiredBody, DesiredZone, Extent, Layer, PlacedSpan, Scene, Venue
from schemas.bounds import MAX_SPANS_PER_ZONE
from schemas.colour import TemperatureColour

WORK_LIGHT: Final = "work-light"
WORK_LIGHT_K: Final = 4_000.0
WORK_LIGHT_LEVEL: Final = 0.5
_NOWHERE: Final = ((0.0, 0.0), (1.0, 0.0))


def has_own_work_light(venue: Venue) -> bool:
    """Whether the venue has a scene of that id, which then stands in the place of the built-in one."""
    return any(scene.id == WORK_LIGHT for scene in venue.scenes)


def work_light_scene(venue: Venue) -> Scene:
    """A wash over a zone of its own."""
    # A venue that is turned down for the evening is not what people want to work by.
    level = min(1.0, WORK_LIGHT_LEVEL / venue.master_level) if venue.master_level else 1.0
    white = TemperatureColour(kelvin=WORK_LIGHT_K, level=level)
    layer = Layer(zone=_zone_id(venue), pattern=Wash(pattern="wash", colour=white))
    return Scene(id=WORK_LIGHT, title="Work light", layers=(layer,))


def scenes_with_work_light(venue: Venue) -> tuple[Scene, ...]:
    """Every scene that the venue can show."""
    return venue.scenes if has_own_work_light(venue) else (*venue.scenes, work_light_scene(venue))


def with_work_light(venue: Venue, bodies: Mapping[str, DesiredBody]) -> dict[str, DesiredBody]:
    """The bodies with the work light's scene, and its zone where a node has pixels that lie in a zone.

    Its zone is every such pixel, stretch by stretch: a wash asks for no place, so the spans tell none, and a document
    grows by little. Bodies are shared and built unvalidated, as `compile_bodies` does.
    """
    if has_own_work_light(venue):
        return dict(bodies)
    scene, zone = work_light_scene(venue), _zone_id(venue)
    elsewhere = scene.model_copy(update={"layers": ()})
    spans_by_node = _spans_by_node(venue)
    scenes: dict[tuple[int, bool], tuple[Scene, ...]] = {}
    made: dict[str, DesiredBody] = {}
    for node, body in bodies.items():
        spans = spans_by_node.get(node, ())
        shared = id(body.scenes), bool(spans)
        if shared not in scenes:  # nodes share their scenes, which are then written out once
            scenes[shared] = (*body.scenes, scene if spans else elsewhere)
        zones = (*body.zones, _zone(zone, spans)) if spans else body.zones
        made[node] = body.model_copy(update={"scenes": scenes[shared], "zones": zones})
    return made


def _zone_id(venue: Venue) -> str:
    taken = {zone.id for zone in venue.zones}
    return next(
        name for name in (WORK_LIGHT, *(f"{WORK_LIGHT}-{n}" for n in range(2, len(taken) + 3))) if name not in taken
    )


def _zone(zone: str, spans: tuple[PlacedSpan, ...]) -> DesiredZone:
    pixels = sum(span.pixels for span in spans)
    extent = Extent(length_m=1.0, pixels=pixels, x_min_m=0.0, x_max_m=1.0, y_min_m=0.0, y_max_m=0.0)
    return DesiredZone.model_construct(id=zone, extent=extent, spans=spans)


def _spans_by_node(venue: Venue) -> dict[str, tuple[PlacedSpan, ...]]:
    lit: dict[str, dict[int, list[tuple[int, int]]]] = {}
    for zone in venue.zones:
        for span in zone.spans:
            runs = lit.setdefault(span.node, {})
            runs.setdefault(span.channel, []).append((span.first, span.first + span.pixels))
    return {node: _spans(runs) for node, runs in lit.items()}


def _spans(runs: Mapping[int, list[tuple[int, int]]]) -> tuple[PlacedSpan, ...]:
    joined = {channel: _joined(stretches) for channel, stretches in sorted(runs.items())}
    if sum(len(stretches) for stretches in joined.values()) > MAX_SPANS_PER_ZONE:
        # More than a document may name: pixels between two of them are lit too.
        joined = {channel: [(stretches[0][0], stretches[-1][1])] for channel, stretches in joined.items()}
    return tuple(
        PlacedSpan.model_construct(
            channel=channel, first=first, pixels=end - first, path=_NOWHERE, start_m=0.0, start_index=0
        )
        for channel, stretches in joined.items()
        for first, end in stretches
    )


def _joined(stretches: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Stretches of a run, first and end, in order; those that touch are one."""
    found: list[tuple[int, int]] = []
    for first, end in sorted(stretches):
        if found and first <= found[-1][1]:
            found[-1] = found[-1][0], max(found[-1][1], end)
        else:
            found.append((first, end))
    return found

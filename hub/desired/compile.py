"""A venue and a scene to what each node must hold: the same input gives the same bytes, on any hub."""

from collections.abc import Iterable, Mapping

from hub.desired.budgets import loads_by_supply, whole_budgets
from hub.desired.flatten import FlatZone, flatten_zones
from hub.desired.trims import trims_by_channel
from hub.errors import InvalidError, Mistake, NotFoundError
from schemas import (
    PIXEL_CATALOGUE,
    DesiredBody,
    DesiredChannel,
    DesiredZone,
    Node,
    PixelType,
    Scene,
    Trim,
    Venue,
)
from schemas.bounds import MAX_SPANS_PER_ZONE, MAX_TRIMS_PER_RUN, MAX_ZONES_PER_NODE


def compile_bodies(venue: Venue, scene_id: str | None, telemetry_interval_s: float) -> dict[str, DesiredBody]:
    """The desired body of every node of `venue`, showing `scene_id` (None is darkness), by node in the venue's order.

    Scenes are all carried, without the layers that do not touch the node; of the zones, those that a layer uses. Parts
    are built unvalidated from the validated venue and shared between bodies: treat them as frozen.

    Raises NotFoundError for an unknown scene, InvalidError for a node with more zones, spans or trims than it holds,
    or for a reference that dangles.
    """
    if scene_id is not None and all(scene.id != scene_id for scene in venue.scenes):
        raise NotFoundError("scene", scene_id)
    pixel_types = {key: kind.without_sources() for key, kind in pixel_types_of(venue).items()}
    budgets = whole_budgets(venue, loads_by_supply(venue, pixel_types))
    used = {layer.zone for scene in venue.scenes for layer in scene.layers}
    every_zone = flatten_zones(venue)
    trims = trims_by_channel(venue, every_zone)
    zones = [zone for zone in every_zone.values() if zone.id in used]
    zones_by_node: dict[str, list[FlatZone]] = {node.id: [] for node in venue.nodes}
    for zone in zones:
        for node_id in zone.spans_by_node:
            zones_by_node[node_id].append(zone)
    scenes_by_zones: dict[frozenset[str], tuple[Scene, ...]] = {}
    bodies: dict[str, DesiredBody] = {}
    for node in venue.nodes:
        own = zones_by_node[node.id]
        key = frozenset(zone.id for zone in own)
        if key not in scenes_by_zones:
            scenes_by_zones[key] = _scenes_over(venue.scenes, key)
        bodies[node.id] = DesiredBody.model_construct(
            frame_rate_limit_hz=node.frame_rate_limit_hz,
            telemetry_interval_s=telemetry_interval_s,
            master_level=venue.master_level,
            channels=_channels(node, pixel_types, trims),
            budgets=budgets[node.id],
            zones=_node_zones(node, own),
            scenes=scenes_by_zones[key],
            showing=scene_id,
        )
    return bodies


def pixel_types_of(venue: Venue) -> dict[str, PixelType]:
    """The catalogue's pixel types and the venue's own by key; the venue's own come first."""
    return {**PIXEL_CATALOGUE, **{kind.key: kind for kind in venue.pixel_types}}


def _scenes_over(scenes: Iterable[Scene], zones: frozenset[str]) -> tuple[Scene, ...]:
    return tuple(
        scene.model_copy(update={"layers": tuple(layer for layer in scene.layers if layer.zone in zones)})
        for scene in scenes
    )


def _channels(
    node: Node, pixel_types: Mapping[str, PixelType], trims: Mapping[tuple[str, int], tuple[Trim, ...]]
) -> tuple[DesiredChannel, ...]:
    for channel in node.channels:
        count = len(trims.get((node.id, channel.number), ()))
        if count > MAX_TRIMS_PER_RUN:
            fault = f"has {count} stretches of different trim or white point on channel {channel.number}"
            _refuse(node, f"{fault}, more than {MAX_TRIMS_PER_RUN}", "trim larger zones, or split the run")
    return tuple(
        DesiredChannel.model_construct(
            number=channel.number,
            pin=channel.pin,
            pixels=channel.run.pixels,
            pixel_type=pixel_types[channel.run.pixel_type],
            white_balance=channel.run.white_balance,
            white_emitter_k=channel.run.white_emitter_k,
            trims=trims.get((node.id, channel.number), ()),
            feeds=channel.run.feeds,
            positive_cut_before=channel.run.positive_cut_before,
        )
        for channel in sorted(node.channels, key=lambda channel: channel.number)
    )


def _node_zones(node: Node, zones: list[FlatZone]) -> tuple[DesiredZone, ...]:
    if len(zones) > MAX_ZONES_PER_NODE:
        _refuse(node, f"lies in {len(zones)} zones that scenes use, more than {MAX_ZONES_PER_NODE}")
    for zone in zones:
        spans = len(zone.spans_by_node[node.id])
        if spans > MAX_SPANS_PER_ZONE:
            _refuse(node, f"has {spans} spans in zone {zone.id!r}, more than {MAX_SPANS_PER_ZONE}")
    return tuple(
        DesiredZone.model_construct(id=zone.id, extent=zone.extent, spans=zone.spans_by_node[node.id]) for zone in zones
    )


def _refuse(
    node: Node, fault: str, remedy: str = "use fewer zones in scenes, or split the node's runs over two nodes"
) -> None:
    mistake = Mistake(f"nodes.{node.id}", fault, remedy)
    raise InvalidError(f"node {node.id!r} {fault}", [mistake])

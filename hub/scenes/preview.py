"""A scene before it is taken: its colours at some instants, its highest amps, and what the limiter would do."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, Field

from hub.desired import compile_bodies
from hub.scenes.lights import Linear, VenueLights, srgb_codes
from hub.scenes.sampling import sample_scene
from schemas import Venue

INSTANTS: Final = 4
CELLS: Final = 64


class PreviewSupply(BaseModel):
    """A supply at the scene's highest instant."""

    supply: str
    title: str | None
    volts: float
    budget_a: float
    highest_a: float = Field(description="As rendered, before the budget limiter.")
    at_s: float = Field(description="Show time of that instant, from 0.")
    limited_a: float = Field(description="The highest that the budget limiter lets through.")
    limiter_scale: float = Field(description="The lowest scale that it applies; 1 leaves the scene as it is.")


class PreviewZone(BaseModel):
    """A zone's colours, one row an instant: stretches of the zone in its own order, each the mean of its pixels."""

    zone: str
    title: str
    pixels: int
    rows: list[list[str]] = Field(description="sRGB as #rrggbb, limited as the nodes would show it.")


class ScenePreview(BaseModel):
    """What a take would bring."""

    venue: str
    scene: str
    title: str
    window_s: float = Field(description="How long the scene was looked at; 0 for one that stands still.")
    whole: bool = Field(description="Whether the scene repeats after that time.")
    samples: int = Field(description="Instants looked at: evenly over the window, closer around the highest.")
    supplies: list[PreviewSupply]
    instants_s: list[float]
    zones: list[PreviewZone]


def preview_scene(venue: Venue, scene: str, instants_s: Sequence[float] = ()) -> ScenePreview:
    """Preview a scene of the venue as it is now. Raises NotFoundError for an unknown scene."""
    bodies = compile_bodies(venue, scene, telemetry_interval_s=60.0)
    lights = VenueLights(venue, bodies)
    peaks = sample_scene(lights, scene)
    if not instants_s:
        instants_s = [peaks.window_s * step / INSTANTS for step in range(INSTANTS)] if peaks.window_s else [0.0]
    shown = [lights.light(lights.limit(lights.linear(scene, at_s), 1e6).codes) for at_s in instants_s]
    supplies = [
        PreviewSupply(
            supply=supply.id,
            title=supply.title,
            volts=supply.volts,
            budget_a=round(supply.budget_a, 3),
            highest_a=round(peak.highest_a, 3),
            at_s=round(peak.at_s, 3),
            limited_a=round(peak.limited_a, 3),
            limiter_scale=round(peak.limiter_scale, 3),
        )
        for supply in venue.supplies
        if (peak := peaks.supplies.get(supply.id)) is not None
    ]
    return ScenePreview(
        venue=venue.id,
        scene=scene,
        title=next(one.title for one in venue.scenes if one.id == scene),
        window_s=round(peaks.window_s, 3),
        whole=peaks.whole,
        samples=peaks.samples,
        supplies=supplies,
        instants_s=[round(at_s, 3) for at_s in instants_s],
        zones=_zones(venue, lights, shown),
    )


def _zones(venue: Venue, lights: VenueLights, shown: Sequence[Linear]) -> list[PreviewZone]:
    offsets = lights.elevation_offsets()
    zones: list[PreviewZone] = []
    for zone in venue.zones:
        if not zone.spans:
            continue
        index = np.concatenate(
            [offsets[span.node, span.channel, span.first] + np.arange(span.pixels) for span in zone.spans]
        )
        rows = [_cells(light[index]) for light in shown]
        zones.append(PreviewZone(zone=zone.id, title=zone.title or zone.id, pixels=len(index), rows=rows))
    return zones


def _cells(light: Linear) -> list[str]:
    cells: list[NDArray[np.float32]] = np.array_split(light, min(CELLS, len(light)))
    means = np.array([cell.mean(axis=0) for cell in cells], dtype=np.float32)
    return [f"#{red:02x}{green:02x}{blue:02x}" for red, green, blue in srgb_codes(means).tolist()]

"""A scene before it is taken: its colours at some instants, its amps, and what the limiter would do."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, Field

from hub.scenes.course import ACTS_BELOW, SupplyCourse
from hub.scenes.draft import lights_for, scene_named
from hub.scenes.lights import Linear, VenueLights, srgb_codes
from hub.scenes.sampling import sample_scene
from schemas import Scene, Venue

INSTANTS: Final = 4
CELLS: Final = 64


class PreviewLimiting(BaseModel):
    """Show times between which the budget limiter acts on a supply."""

    start_s: float
    end_s: float = Field(description="The same as the start where the scene stands still.")
    lowest_scale: float


class PreviewSupply(BaseModel):
    """A supply at the scene's highest instant, and over its window."""

    supply: str
    title: str | None
    volts: float
    budget_a: float
    highest_a: float = Field(description="As rendered, before the budget limiter.")
    at_s: float = Field(description="Show time of that instant, from 0.")
    limited_a: float = Field(description="The highest that the budget limiter lets through.")
    limiter_scale: float = Field(description="The lowest scale that it applies; 1 leaves the scene as it is.")
    asked_a: list[float] = Field(description="As rendered: the highest of each `step_s` of the window, from 0.")
    let_through_a: list[float] = Field(
        description="The same after the limiter, which lets go slowly: after a high instant it holds later ones down."
    )
    limiting: list[PreviewLimiting] = Field(
        description=f"When the limiter dims below {ACTS_BELOW:g}, as the boards would over the running scene."
    )


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
    step_s: float = Field(description="Time from one of a supply's `asked_a` to the next; 0 for one that stands still.")
    supplies: list[PreviewSupply]
    instants_s: list[float]
    zones: list[PreviewZone]


def preview_scene(venue: Venue, scene: str, instants_s: Sequence[float] = ()) -> ScenePreview:
    """Preview a scene of the venue as it is now. Raises NotFoundError for an unknown scene."""
    return preview_draft(venue, scene_named(venue, scene), instants_s)


def preview_draft(venue: Venue, scene: Scene, instants_s: Sequence[float] = ()) -> ScenePreview:
    """Preview a scene that the venue need not hold. Raises InvalidError for what does not fit the venue."""
    lights = lights_for(venue, scene)
    peaks = sample_scene(lights, scene.id)
    if not instants_s:
        instants_s = [peaks.window_s * step / INSTANTS for step in range(INSTANTS)] if peaks.window_s else [0.0]
    shown = [lights.light(lights.limit(lights.linear_of(scene, at_s), 1e6).codes) for at_s in instants_s]
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
            asked_a=peaks.course[supply.id].asked_a.round(3).tolist(),
            let_through_a=peaks.course[supply.id].let_through_a.round(3).tolist(),
            limiting=_limiting(peaks.course[supply.id]),
        )
        for supply in venue.supplies
        if (peak := peaks.supplies.get(supply.id)) is not None
    ]
    return ScenePreview(
        venue=venue.id,
        scene=scene.id,
        title=scene.title,
        window_s=round(peaks.window_s, 3),
        whole=peaks.whole,
        samples=peaks.samples,
        step_s=round(peaks.step_s, 6),
        supplies=supplies,
        instants_s=[round(at_s, 3) for at_s in instants_s],
        zones=_zones(venue, lights, shown),
    )


def _limiting(course: SupplyCourse) -> list[PreviewLimiting]:
    return [
        PreviewLimiting(
            start_s=round(stretch.start_s, 3),
            end_s=round(stretch.end_s, 3),
            lowest_scale=round(stretch.lowest_scale, 3),
        )
        for stretch in course.stretches
    ]


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

"""Scenes: layers of patterns over zones. A scene is a pure function of show time and position.

Lengths are metres along the elevation, times are seconds, colours are sRGB hex. `along` names the coordinate that a
pattern follows: `s` is the distance along the zone in the order of its spans, `x` and `y` are the elevation's axes.
"""

import itertools
from typing import Annotated, Literal

from pydantic import Field, model_validator

from schemas.bounds import MAX_GRADIENT_STOPS, MAX_LAYERS, MAX_SPOT_SPANS
from schemas.contract import Contract, HexColour, Id, Text, Title

Along = Literal["s", "x", "y"]
Metres = Annotated[float, Field(ge=0.001, le=10_000, description="metres")]
MetresPerSecond = Annotated[float, Field(ge=-100, le=100, description="metres per second; negative runs backwards")]
Share = Annotated[float, Field(ge=0, le=1)]
PixelIndex = Annotated[int, Field(ge=0, le=10_000_000, description="Index within the zone, from 0.")]


class Wash(Contract):
    """One colour over the whole zone."""

    pattern: Literal["wash"]
    colour: HexColour


class SpotSpan(Contract):
    """Pixels of the zone by index: `pixels` of them, starting at `first`."""

    first: PixelIndex
    pixels: Annotated[int, Field(ge=1, le=100_000)] = 1


class Spot(Contract):
    """Named pixels in one colour over whatever the layers below show."""

    pattern: Literal["spot"]
    colour: HexColour
    spans: Annotated[tuple[SpotSpan, ...], Field(min_length=1, max_length=MAX_SPOT_SPANS)]


class GradientStop(Contract):
    """A colour at a share of the zone's extent along the chosen coordinate."""

    at: Share
    colour: HexColour


class Gradient(Contract):
    """Colours between stops, still, interpolated in linear light."""

    pattern: Literal["gradient"]
    along: Along = "s"
    stops: Annotated[tuple[GradientStop, ...], Field(min_length=2, max_length=MAX_GRADIENT_STOPS)]

    @model_validator(mode="after")
    def _stops_ascend(self) -> "Gradient":
        places = [stop.at for stop in self.stops]
        if any(later <= earlier for earlier, later in itertools.pairwise(places)):
            raise ValueError("stops must ascend strictly by `at`")
        return self


class Chase(Contract):
    """Lit stretches that travel: one of `length_m` in every `spacing_m`, soft at its trailing end over `tail_m`."""

    pattern: Literal["chase"]
    colour: HexColour
    along: Along = "s"
    length_m: Metres
    spacing_m: Metres
    tail_m: Annotated[float, Field(ge=0, le=10_000, description="metres")] = 0.0
    speed_m_per_s: MetresPerSecond

    @model_validator(mode="after")
    def _lit_stretch_fits(self) -> "Chase":
        if self.length_m + self.tail_m > self.spacing_m:
            raise ValueError("length_m + tail_m must not exceed spacing_m")
        return self


class Wave(Contract):
    """A travelling sine between two colours, in linear light."""

    pattern: Literal["wave"]
    crest: HexColour
    trough: HexColour
    along: Along = "s"
    wavelength_m: Metres
    speed_m_per_s: MetresPerSecond


class Twinkle(Contract):
    """Pixels that glow up and die away, each at its own moments, decided by the seed and the index in the zone."""

    pattern: Literal["twinkle"]
    colour: HexColour
    share: Annotated[Share, Field(description="Share of the pixels that twinkle in each period.")]
    period_s: Annotated[float, Field(ge=0.35, le=3_600, description="Length of one glow, seconds.")]
    seed: Annotated[int, Field(ge=0, le=2**32 - 1)] = 0


Pattern = Annotated[Wash | Spot | Gradient | Chase | Wave | Twinkle, Field(discriminator="pattern")]


class Layer(Contract):
    """One pattern over one zone, laid over the layers before it with an opacity."""

    zone: Id
    opacity: Share = 1.0
    pattern: Pattern


class Scene(Contract):
    """What the venue shows: layers from the bottom up; no layers is darkness."""

    id: Id
    title: Title
    note: Text = ""
    layers: Annotated[tuple[Layer, ...], Field(max_length=MAX_LAYERS)] = ()

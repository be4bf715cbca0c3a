"""Scenes: layers of patterns over zones. A scene is a pure function of show time and position.

Lengths are metres along the elevation, times are seconds, light is linear. What a pattern states stands with its light,
in `node_agent/render/patterns`.
"""

from typing import Annotated, Literal

from pydantic import Field

from schemas.bounds import MAX_LAYERS
from schemas.colour import Share
from schemas.contract import Contract, Id, Text, Title
from schemas.pattern import AnyPattern

Blend = Annotated[
    Literal["normal", "add", "lighten", "multiply"],
    Field(description="How a layer meets what lies below it, by the formulas of W3C Compositing, in linear light."),
]


class Layer(Contract):
    """One pattern over one zone, laid over the layers before it.

    Its time is show time x `time_scale` + `phase_s`; a mask keeps the same time.
    """

    zone: Id
    pattern: AnyPattern
    opacity: Annotated[Share, Field(description="Share of the layer in what is seen.")] = 1.0
    blend: Blend = "normal"
    mask: Annotated[
        AnyPattern | None,
        Field(description="A pattern over the same zone: the layer is seen as far as that is light (luminance)."),
    ] = None
    time_scale: Annotated[
        float, Field(ge=-100, le=100, description="How fast its time runs; negative runs backwards, 0 stands still.")
    ] = 1.0
    phase_s: Annotated[
        float,
        Field(ge=-100_000, le=100_000, description="How far its time is ahead.", json_schema_extra={"unit": "s"}),
    ] = 0.0


class Scene(Contract):
    """What the venue shows: layers from the bottom up; no layers is darkness."""

    id: Id
    title: Title
    note: Text = ""
    layers: Annotated[tuple[Layer, ...], Field(max_length=MAX_LAYERS)] = ()

"""Colours as people write them: sRGB in hex, a CSS name, linear red, green and blue, or a colour temperature."""

import itertools
import json
import re
from typing import Annotated, Any, Final, Literal

from pydantic import AfterValidator, Field, ValidationInfo, WrapValidator
from pydantic_core import PydanticCustomError
from pydantic_extra_types.color import COLORS_BY_NAME

from schemas.bounds import MAX_RAMP_STOPS
from schemas.contract import Contract

Share = Annotated[float, Field(ge=0, le=1)]

COLOUR_FORMS: Final = (
    '"#rrggbb" in lower case and in quotes, a CSS name such as gold, {linear: [red, green, blue]} with shares of full '
    "light, or {kelvin: 2700}"
)
CSS_COLOURS: Final[dict[str, str]] = {
    name: f"#{red:02x}{green:02x}{blue:02x}"
    for name, (red, green, blue) in {**COLORS_BY_NAME, "rebeccapurple": (0x66, 0x33, 0x99)}.items()
}
"""The named colours of CSS Color Module Level 4, as sRGB in hex."""

_HEX: Final = re.compile(r"#[0-9a-f]{6}")


class LinearColour(Contract):
    """Shares of full light of red, green and blue, with the primaries of sRGB and no transfer function."""

    linear: Annotated[
        tuple[Share, Share, Share],
        Field(description="Shares of full red, green and blue.", examples=[[1.0, 0.6, 0.2]]),
    ]


class TemperatureColour(Contract):
    """The colour of a black body, as light as the primaries of sRGB give it at `level` 1.

    `tint_duv` is the distance from the Planckian locus in CIE 1960 u, v, as ANSI C78.377 measures it.
    """

    kelvin: Annotated[
        float,
        Field(
            ge=1_000, le=20_000, description="Colour temperature.", examples=[2_700], json_schema_extra={"unit": "K"}
        ),
    ]
    tint_duv: Annotated[float, Field(ge=-0.03, le=0.03, description="Positive is greener, negative pinker.")] = 0.0
    level: Annotated[Share, Field(description="Share of full light.")] = 1.0


def _written(value: Any, _: object, info: ValidationInfo) -> "Colour":  # noqa: ANN401 (whatever stands there)
    """Chosen here and not by a tagged union, whose errors put a tag between the names that a person wrote."""
    if isinstance(value, LinearColour | TemperatureColour):
        return value
    if isinstance(value, str) and (_HEX.fullmatch(value) or value in CSS_COLOURS):
        return value
    if not isinstance(value, dict):
        raise PydanticCustomError("colour", "{text} is not a colour", {"text": ascii(value)[:40]})
    form = next((form for field, form in _FORMS.items() if field in value), None)
    if form is None:
        raise PydanticCustomError("colour", "these fields make no colour")
    # Strict contracts take arrays from JSON only, and a validator is handed what JSON was parsed into.
    return form.model_validate_json(json.dumps(value)) if info.mode == "json" else form.model_validate(value)


_FORMS: Final[dict[str, type[LinearColour | TemperatureColour]]] = {
    "linear": LinearColour,
    "kelvin": TemperatureColour,
}
Colour = Annotated[
    Annotated[str, Field(max_length=24, description="sRGB in hex, or a CSS name.", examples=["#ffb060", "gold"])]
    | LinearColour
    | TemperatureColour,
    WrapValidator(_written),
]


class Stop(Contract):
    """A colour at a place of a ramp, from 0 at its beginning to 1 at its end."""

    at: Annotated[Share, Field(description="Where on the ramp.", examples=[0.0])]
    colour: Annotated[Colour, Field(description="The colour there.", examples=["#ffb060"])]


def _ascend(stops: tuple[Stop, ...]) -> tuple[Stop, ...]:
    if any(later.at <= earlier.at for earlier, later in itertools.pairwise(stops)):
        remedy = "put them in order, each `at` once; for an edge, set two close together: 0.5 and 0.501"
        raise PydanticCustomError("order", "stops must ascend strictly by `at`", {"remedy": remedy})
    return stops


Stops = Annotated[
    tuple[Stop, ...],
    Field(
        min_length=2,
        max_length=MAX_RAMP_STOPS,
        description="Colours from place to place, ascending by `at`.",
        examples=[[{"at": 0.0, "colour": "#30160a"}, {"at": 1.0, "colour": "#ffb060"}]],
    ),
    AfterValidator(_ascend),
]
Mix = Annotated[
    Literal["oklab", "linear"],
    Field(description="How colours between two are found: evenly to the eye (OKLab), or as light adds up (linear)."),
]

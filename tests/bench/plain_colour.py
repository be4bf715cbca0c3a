"""Colours as plain numbers: sRGB, ramps, and OKLab by the matrices published with it (B. Ottosson, 2020)."""

from collections.abc import Sequence
from functools import cache

from schemas import Stop
from schemas.colour import Mix

Colour = tuple[float, float, float]


@cache
def linear(hex_colour: object) -> Colour:
    if not isinstance(hex_colour, str):
        raise TypeError("the baseline reads sRGB in hex")
    red, green, blue = (_transfer(int(hex_colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return red, green, blue


def mixed(from_colour: Colour, to_colour: Colour, share: float) -> Colour:
    (r0, g0, b0), (r1, g1, b1) = from_colour, to_colour
    return r0 + share * (r1 - r0), g0 + share * (g1 - g0), b0 + share * (b1 - b0)


def on_ramp(stops: Sequence[Stop], mix: Mix, place: float) -> Colour:
    if place <= stops[0].at:
        return linear(stops[0].colour)
    earlier = stops[0]
    for later in stops[1:]:
        if place <= later.at:
            return between(earlier.colour, later.colour, mix, (place - earlier.at) / (later.at - earlier.at))
        earlier = later
    return linear(earlier.colour)


def between(from_colour: object, to_colour: object, mix: Mix, share: float) -> Colour:
    if mix == "linear":
        return mixed(linear(from_colour), linear(to_colour), share)
    red, green, blue = _of_oklab(mixed(_oklab(from_colour), _oklab(to_colour), share))
    return _in_range(red), _in_range(green), _in_range(blue)


def _in_range(value: float) -> float:
    return min(max(value, 0.0), 1.0)


def _transfer(encoded: float) -> float:
    return encoded / 12.92 if encoded <= 0.04045 else ((encoded + 0.055) / 1.055) ** 2.4


@cache
def _oklab(hex_colour: object) -> Colour:
    red, green, blue = linear(hex_colour)
    long = (0.4122214708 * red + 0.5363325363 * green + 0.0514459929 * blue) ** (1 / 3)
    medium = (0.2119034982 * red + 0.6806995451 * green + 0.1073969566 * blue) ** (1 / 3)
    short = (0.0883024619 * red + 0.2817188376 * green + 0.6299787005 * blue) ** (1 / 3)
    return (
        0.2104542553 * long + 0.7936177850 * medium - 0.0040720468 * short,
        1.9779984951 * long - 2.4285922050 * medium + 0.4505937099 * short,
        0.0259040371 * long + 0.7827717662 * medium - 0.8086757660 * short,
    )


def _of_oklab(lab: Colour) -> Colour:
    lightness, a, b = lab
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    medium = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    return (
        4.0767416621 * long - 3.3077115913 * medium + 0.2309699292 * short,
        -1.2684380046 * long + 2.6097574011 * medium - 0.3413193965 * short,
        -0.0041960863 * long - 0.7034186147 * medium + 1.7076147010 * short,
    )

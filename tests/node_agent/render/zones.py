"""Zones and bodies for the renderer's tests: a polyline of spans, on one node or on as many nodes as spans."""

from collections.abc import Sequence

from schemas import PIXEL_CATALOGUE, DesiredBody, DesiredChannel, DesiredZone, Extent, Layer, PlacedSpan, Scene
from schemas.pattern import Pattern

RGB = PIXEL_CATALOGUE["rgb-5v-nrz800"]
SPAN_M = 2.5


def channel(number: int, pixels: int) -> DesiredChannel:
    return DesiredChannel(number=number, pin=f"spidev0.{number - 1}", pixels=pixels, pixel_type=RGB)


def spans(pixels: Sequence[int], channels: Sequence[int]) -> tuple[PlacedSpan, ...]:
    """Spans of 2.5 m each, one after another to the right, every second one falling by 1.5 m over 2 m across."""
    placed: list[PlacedSpan] = []
    x_m = 0.0
    for number, (count, channel_number) in enumerate(zip(pixels, channels, strict=True)):
        across_m, fall_m = (2.0, 1.5) if number % 2 else (SPAN_M, 0.0)
        placed.append(
            PlacedSpan(
                channel=channel_number,
                first=0,
                pixels=count,
                path=((x_m, 3.0), (x_m + across_m, 3.0 - fall_m)),
                start_m=SPAN_M * number,
                start_index=sum(pixels[:number]),
            )
        )
        x_m += across_m
    return tuple(placed)


def extent(pixels: Sequence[int]) -> Extent:
    across_m = sum(2.0 if number % 2 else SPAN_M for number in range(len(pixels)))
    return Extent(
        length_m=SPAN_M * len(pixels), pixels=sum(pixels), x_min_m=0.0, x_max_m=across_m, y_min_m=1.5, y_max_m=3.0
    )


def whole_body(pixels: Sequence[int]) -> DesiredBody:
    """All spans on one node, a channel each."""
    numbers = range(1, len(pixels) + 1)
    return DesiredBody(
        telemetry_interval_s=5.0,
        channels=tuple(channel(number, count) for number, count in zip(numbers, pixels, strict=True)),
        zones=(DesiredZone(id="front", extent=extent(pixels), spans=spans(pixels, numbers)),),
    )


def part_bodies(pixels: Sequence[int]) -> list[DesiredBody]:
    """The same spans, each on a node of its own, on that node's channel 1."""
    placed = spans(pixels, [1] * len(pixels))
    return [
        DesiredBody(
            telemetry_interval_s=5.0,
            channels=(channel(1, count),),
            zones=(DesiredZone(id="front", extent=extent(pixels), spans=(span,)),),
        )
        for count, span in zip(pixels, placed, strict=True)
    ]


def scene(*patterns: Pattern, opacity: float = 1.0) -> Scene:
    layers = tuple(Layer(zone="front", opacity=opacity, pattern=pattern) for pattern in patterns)
    return Scene(id="evening", title="Evening", layers=layers)

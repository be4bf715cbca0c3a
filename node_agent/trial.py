"""A trial: one run on one output, described by a few values, shown for some seconds with neither hub nor broker."""

import math
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from node_agent.dither import NodeFrames
from node_agent.limiter import BudgetLimiter
from node_agent.outputs import Output, WireFrame, encoder_for
from node_agent.power import PowerModel
from node_agent.render import PatternStatement, Renderer
from node_agent.render.patterns.chase import Chase
from node_agent.render.patterns.gradient import Gradient
from node_agent.render.patterns.spot import Spot, SpotSpan
from node_agent.render.patterns.twinkle import Twinkle
from node_agent.render.patterns.wash import Wash
from node_agent.render.patterns.wave import Wave
from schemas import (
    Budget,
    DesiredBody,
    DesiredChannel,
    DesiredZone,
    Extent,
    Feed,
    Layer,
    PixelType,
    PlacedSpan,
    Scene,
    Stop,
)

PatternName = Literal["wash", "spot", "gradient", "chase", "wave", "twinkle"]
FRAME_RATE_LIMIT_HZ: Final = 120.0
"""More than the eye asks for; short runs could go faster and would only keep the processor busy."""

_WIRE_SHARE: Final = 0.9
"""Of the wire's rate: one thread renders and sends, so a frame takes its wire time and the time to make it."""

_SUPPLY: Final = "bench"
_LEAST_LENGTH_M: Final = 0.1

# How many colours each pattern takes, at least and at most, and those it has when none is named.
COLOURS: Final[Mapping[PatternName, tuple[int, int, tuple[str, ...]]]] = {
    "wash": (1, 1, ("#ffb060",)),
    "spot": (1, 1, ("#ffffff",)),
    "gradient": (2, 16, ("#ff8020", "#2040ff")),
    "chase": (1, 1, ("#ffb060",)),
    "wave": (2, 2, ("#ffb060", "#201008")),
    "twinkle": (1, 1, ("#ffd8a0",)),
}


@dataclass(frozen=True, slots=True)
class TrialReport:
    """What a trial did: frames shown and frames that came late, the highest draw, the lowest limiter scale."""

    frames: int
    late_frames: int
    highest_a: float
    lowest_scale: float


class Trial:
    """One run with its pattern, ready to show. Raises OutputError for a pixel type that no SPI clock can drive."""

    def __init__(
        self,
        *,
        pixels: int,
        pixel_type: PixelType,
        pixels_per_m: float,
        pin: str,
        pattern: PatternName,
        colours: Sequence[str],
        budget_a: float,
    ) -> None:
        self.pixels, self.pixel_type, self.budget_a = pixels, pixel_type, budget_a
        self.length_m = pixels / pixels_per_m
        body = _body(pixels, pixel_type, self.length_m, pin, budget_a)
        layer = Layer(zone="run", pattern=_pattern(pattern, colours or COLOURS[pattern][2], pixels, self.length_m))
        self._scene = Scene(id="trial", title="Trial", layers=(layer,))
        self._renderer = Renderer(body)
        self.encoder = encoder_for(pixel_type, pixels)
        power = PowerModel(body)
        self.worst_case_a, self.typical_a = float(power.worst_case_a()[0]), float(power.typical_a()[0])
        self.idle_a = float(power.idle_a()[0])
        self.frame_rate_hz = min(_WIRE_SHARE / self.encoder.wire_time_s, FRAME_RATE_LIMIT_HZ)
        self._limiter = BudgetLimiter(body, [NodeFrames(pixels, 1 / self.frame_rate_hz)])

    def show(self, output: Output, seconds: float, stopped: Callable[[], bool]) -> TrialReport:
        """Shows the pattern until `seconds` are over or `stopped` answers true, and leaves the run dark, come what may.

        Frames fall due on a fixed raster; those whose time has passed are left out and counted late.
        """
        period_s = 1 / self.frame_rate_hz
        start_s = time.monotonic()
        frames, late, highest_a, lowest_scale = 0, 0, 0.0, 1.0
        tick = shown = -1
        try:
            while not stopped():
                tick = max(tick + 1, math.floor((time.monotonic() - start_s) / period_s))
                due_s = tick * period_s
                if due_s >= seconds:
                    break
                time.sleep(max(0.0, start_s + due_s - time.monotonic()))
                linear = self._renderer.render(self._scene, due_s)
                limited = self._limiter.limit(linear, (tick - shown) * period_s, due_s)
                output.send(WireFrame(self.encoder.encode(limited.codes), due_s, None))
                frames, late, shown = frames + 1, late + tick - shown - 1, tick
                highest_a = max(highest_a, float(limited.amps[0]))
                lowest_scale = min(lowest_scale, float(limited.scale[0]))
        finally:
            dark = np.zeros((self.pixels, 4), dtype=np.uint8)
            output.send(WireFrame(self.encoder.encode(dark), time.monotonic() - start_s, None))
        return TrialReport(frames, late, highest_a, lowest_scale)


def _body(pixels: int, pixel_type: PixelType, length_m: float, pin: str, budget_a: float) -> DesiredBody:
    channel = DesiredChannel(
        number=1,
        pin=pin,
        pixels=pixels,
        pixel_type=pixel_type,
        feeds=(Feed(supply=_SUPPLY, wire_mm2=1.0, length_m=1.0),),
    )
    span = PlacedSpan(channel=1, first=0, pixels=pixels, path=((0.0, 0.0), (length_m, 0.0)), start_m=0.0, start_index=0)
    extent = Extent(length_m=length_m, pixels=pixels, x_min_m=0.0, x_max_m=length_m, y_min_m=0.0, y_max_m=0.0)
    return DesiredBody(
        telemetry_interval_s=5.0,
        channels=(channel,),
        budgets=(Budget(supply=_SUPPLY, budget_a=budget_a),),
        zones=(DesiredZone(id="run", extent=extent, spans=(span,)),),
    )


def _pattern(name: PatternName, colours: Sequence[str], pixels: int, length_m: float) -> PatternStatement:
    """The pattern sized to the run, at well under one change a second at any pixel."""
    unit_m = max(length_m, _LEAST_LENGTH_M)
    match name:
        case "wash":
            return Wash(pattern="wash", colour=colours[0])
        case "spot":
            return Spot(pattern="spot", colour=colours[0], spans=(SpotSpan(first=0), SpotSpan(first=pixels - 1)))
        case "gradient":
            places = [number / (len(colours) - 1) for number in range(len(colours))]
            stops = tuple(Stop(at=at, colour=colour) for at, colour in zip(places, colours, strict=True))
            return Gradient(pattern="gradient", stops=stops)
        case "chase":
            return Chase(
                pattern="chase",
                colour=colours[0],
                length_m=unit_m / 8,
                spacing_m=unit_m / 2,
                tail_m=unit_m / 8,
                speed_m_per_s=unit_m / 6,
            )
        case "wave":
            crest, trough = colours
            return Wave(pattern="wave", crest=crest, trough=trough, wavelength_m=unit_m / 2, speed_m_per_s=unit_m / 10)
        case "twinkle":
            return Twinkle(pattern="twinkle", colour=colours[0], share=0.3, period_s=2.0)

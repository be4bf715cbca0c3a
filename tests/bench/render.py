"""A frame on a board of four channels of 512 pixels: `python -m tests.bench.render`.

The frame is the board's own at its dearest: two scenes of three moving layers in a crossfade, limited, encoded. Its
target is a thirtieth of the wire time, so that even a board thirty times slower keeps the wire's rate; a layer may take
a sixth of that. Baselines are plain Python loops doing the same; `test_plain_pixels.py` holds that they do.
"""

import statistics
import time
from collections.abc import Callable

from node_agent.outputs import NrzEncoder
from node_agent.prepared import PreparedRevision
from node_agent.render.patterns.chase import Chase
from node_agent.render.patterns.gradient import Gradient
from node_agent.render.patterns.spot import Spot, SpotSpan
from node_agent.render.patterns.twinkle import Twinkle
from node_agent.render.patterns.wash import Wash
from node_agent.render.patterns.wave import Wave
from node_agent.takes import Look
from schemas import (
    PIXEL_CATALOGUE,
    Budget,
    Desired,
    DesiredBody,
    DesiredChannel,
    DesiredZone,
    Extent,
    Feed,
    Layer,
    PlacedSpan,
    Scene,
    Stop,
    body_sha256,
)
from schemas.pattern import Pattern
from tests.bench import plain_pixels
from tests.bench.line import print_line

KIND = PIXEL_CATALOGUE["rgb-5v-nrz800"]
CHANNELS, PIXELS, SPAN_M = 4, 512, 8.0
BUDGET_A = 24.0
WIRE_SHARE = 30
FADE_S, SHARE = 4.0, 0.5
START_S = 1_800_000_000.0
LOOP = "plain Python loop over the same pixels"

PATTERNS: tuple[Pattern, ...] = (
    Wash(pattern="wash", colour="#ffb060"),
    Spot(pattern="spot", colour="#ffffff", spans=(SpotSpan(first=100, pixels=300),)),
    Gradient(pattern="gradient", mix="linear", stops=(Stop(at=0.0, colour="#ff8020"), Stop(at=1.0, colour="#2040ff"))),
    Chase(pattern="chase", colour="#ffffff", length_m=0.5, spacing_m=3.0, tail_m=1.0, speed_m_per_s=0.75),
    Wave(pattern="wave", mix="linear", crest="#ffb060", trough="#201008", wavelength_m=4.0, speed_m_per_s=0.5),
    Twinkle(pattern="twinkle", colour="#ffd8a0", share=0.3, period_s=2.0, seed=7),
)
_, _, _, CHASE, WAVE, TWINKLE = PATTERNS
BACKWARD = Wave(pattern="wave", mix="linear", crest="#4060ff", trough="#001020", wavelength_m=2.5, speed_m_per_s=-0.25)


def zone() -> DesiredZone:
    spans = tuple(
        PlacedSpan(
            channel=number + 1,
            first=0,
            pixels=PIXELS,
            path=((SPAN_M * number, 3.0), (SPAN_M * (number + 1), 3.0)),
            start_m=SPAN_M * number,
            start_index=PIXELS * number,
        )
        for number in range(CHANNELS)
    )
    length_m = SPAN_M * CHANNELS
    extent = Extent(
        length_m=length_m, pixels=PIXELS * CHANNELS, x_min_m=0.0, x_max_m=length_m, y_min_m=3.0, y_max_m=3.0
    )
    return DesiredZone(id="front", extent=extent, spans=spans)


def scene(*patterns: Pattern) -> Scene:
    layers = tuple(Layer(zone="front", opacity=0.8, pattern=pattern) for pattern in patterns)
    return Scene(id="evening", title="Evening", layers=layers)


def prepared(shown: Scene, revision: int) -> PreparedRevision:
    channels = tuple(
        DesiredChannel(
            number=number,
            pin=f"spidev0.{number - 1}",
            pixels=PIXELS,
            pixel_type=KIND,
            feeds=(Feed(supply="bench", wire_mm2=1.5, length_m=2.0),),
        )
        for number in range(1, CHANNELS + 1)
    )
    body = DesiredBody(
        telemetry_interval_s=5.0,
        channels=channels,
        budgets=(Budget(supply="bench", budget_a=BUDGET_A),),
        zones=(zone(),),
        scenes=(shown,),
        showing=shown.id,
    )
    return PreparedRevision(
        Desired(venue="bench", node="board", revision=revision, sha256=body_sha256(body), body=body)
    )


def median_us(work: Callable[[float], object], rounds: int) -> float:
    """Median time of `work(show time)` over frames of a moving show, after a warm-up, microseconds."""
    times_s = []
    for number in range(rounds + rounds // 10):
        show_s = START_S + number * 1e-4
        start_s = time.perf_counter()
        work(show_s)
        times_s.append(time.perf_counter() - start_s)
    return statistics.median(times_s[rounds // 10 :]) * 1e6


def main() -> None:
    target_us = KIND.wire_time_s(PIXELS) / WIRE_SHARE * 1e6
    _bench_frame(target_us)
    for pattern in PATTERNS:
        _bench_pattern(pattern, target_us / 6)


def _bench_frame(target_us: float) -> None:
    before, after = scene(WAVE, CHASE, TWINKLE), scene(BACKWARD, TWINKLE, CHASE)
    ready = prepared(after, 2)
    # A take half a fade ago: the crossfade stays near its middle for as long as the bench runs.
    at_s = START_S - FADE_S * SHARE
    look = Look(ready, at_s, FADE_S, Look(prepared(before, 1), at_s - 60.0, 0.0, None))
    encoder = NrzEncoder(KIND, PIXELS)
    symbols = ["".join(map(str, encoder.symbol.pattern(one=one))) for one in (False, True)]
    places = plain_pixels.places_of(zone())

    def board(show_s: float) -> dict[int, bytes]:
        return ready.encode(ready.limit(look.linear(show_s), 1.0, show_s).codes)

    def loop(show_s: float) -> None:
        share = (show_s - at_s) / FADE_S
        earlier, later = (plain_pixels.render(each, zone(), places, show_s) for each in (before, after))
        codes = plain_pixels.limit(plain_pixels.crossfade(earlier, later, share), KIND, BUDGET_A)
        for first in range(0, len(codes), PIXELS):
            plain_pixels.encode(codes[first : first + PIXELS], *symbols)

    print_line(
        bench="render",
        figure=f"3 layers, crossfade, limit, encode {CHANNELS} x {PIXELS} pixels",
        unit="µs",
        value=median_us(board, 500),
        baseline=median_us(loop, 3),
        baseline_is=LOOP,
        target=target_us,
    )


def _bench_pattern(pattern: Pattern, target_us: float) -> None:
    shown = scene(pattern)
    ready = prepared(shown, 1)
    places = plain_pixels.places_of(zone())

    def loop(show_s: float) -> list[plain_pixels.Colour]:
        return plain_pixels.render(shown, zone(), places, show_s)

    print_line(
        bench="render",
        figure=f"{pattern.pattern}, one layer over {CHANNELS * PIXELS} pixels",
        unit="µs",
        value=median_us(ready.linear, 500),
        baseline=median_us(loop, 3),
        baseline_is=LOOP,
        target=target_us,
    )


if __name__ == "__main__":
    main()

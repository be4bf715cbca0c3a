"""A frame on a board of four channels of 512 pixels: `python -m tests.bench.render`.

The frame is the board's own at its dearest: two scenes of three moving layers in a crossfade, limited, dithered,
encoded. Its target is a thirtieth of the wire time, so that even a board thirty times slower keeps the wire's rate; a
layer may take a sixth of that. Baselines are plain Python loops doing the same; `test_plain_pixels.py` holds that they
do. Last comes the memory of a whole agent under that load.
"""

import statistics
import time
from collections.abc import Callable
from functools import partial

from node_agent.outputs import NrzEncoder
from node_agent.takes import taken
from schemas import Scene
from tests.bench import agent_memory, plain_pixels
from tests.bench.line import print_line
from tests.bench.plain_colour import Colour
from tests.bench.render_load import (
    BACKWARD,
    BUDGET_A,
    CHANNELS,
    CHASE,
    KIND,
    PATTERNS,
    PIXELS,
    START_S,
    SWEEP,
    TWINKLE,
    WAVE,
    prepared,
    scene,
    zone,
)

WIRE_SHARE = 30
FADE_S, SHARE = 4.0, 0.5
LOOP = "plain Python loop over the same pixels"
ROUNDS, LOOP_ROUNDS = 500, 3
MEMORY_TARGET_MIB = 60


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
        _bench_layer(pattern.pattern, scene(pattern), target_us / 6)
    _bench_layer("wave masked by a moving sweep", scene(WAVE, mask=SWEEP), target_us / 6)
    _bench_memory()


def _bench_frame(target_us: float) -> None:
    before, after = scene(WAVE, CHASE, TWINKLE), scene(BACKWARD, TWINKLE, CHASE)
    ready = prepared(after, 2)
    # A take half a fade ago: the crossfade stays near its middle for as long as the bench runs.
    at_s = START_S - FADE_S * SHARE
    showed = taken(prepared(before, 1), at_s - 60.0, 0.0, at_s, None, None)
    look = taken(ready, at_s, FADE_S, START_S, showed, showed.linear(at_s))
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
        value=median_us(board, ROUNDS),
        baseline=median_us(loop, LOOP_ROUNDS),
        baseline_is=LOOP,
        target=target_us,
    )


def _bench_layer(figure: str, shown: Scene, target_us: float) -> None:
    ready = prepared(shown, 1)
    places = plain_pixels.places_of(zone())

    def loop(show_s: float) -> list[Colour]:
        return plain_pixels.render(shown, zone(), places, show_s)

    print_line(
        bench="render",
        figure=f"{figure}, one layer over {CHANNELS * PIXELS} pixels",
        unit="µs",
        value=median_us(partial(ready.linear, shown.id), ROUNDS),
        baseline=median_us(loop, LOOP_ROUNDS),
        baseline_is=LOOP,
        target=target_us,
    )


def _bench_memory() -> None:
    agent = agent_memory.under_load(scene(WAVE, CHASE, TWINKLE), scene(BACKWARD, TWINKLE, CHASE))
    print_line(
        bench="render",
        figure=f"resident memory of the agent, 3 layers, crossfade, {CHANNELS} x {PIXELS} pixels",
        unit="MiB",
        value=agent,
        baseline=agent_memory.of_libraries_mib(),
        baseline_is="Python that imports numpy, pydantic and paho-mqtt, and sleeps",
        target=MEMORY_TARGET_MIB,
    )


if __name__ == "__main__":
    main()

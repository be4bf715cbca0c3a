"""The benchmark's baseline does the board's work: written apart, it comes to the same light, codes and bytes."""

import numpy as np
import pytest

from node_agent.outputs import NrzEncoder
from schemas.pattern import Pattern
from tests.bench import plain_pixels
from tests.bench.render import BUDGET_A, CHASE, KIND, PATTERNS, PIXELS, START_S, WAVE, prepared, scene, zone


@pytest.mark.parametrize("pattern", PATTERNS, ids=lambda pattern: pattern.pattern)
def test_each_pattern_is_the_same_light(pattern: Pattern) -> None:
    shown, places = scene(pattern), plain_pixels.places_of(zone())
    for show_s in (START_S, START_S + 0.7):
        expected = np.array(plain_pixels.render(shown, zone(), places, show_s))
        np.testing.assert_allclose(prepared(shown, 1).linear(show_s), expected, atol=1e-4)


def test_the_limited_frame_is_the_same_codes_but_for_the_limiters_reserve() -> None:
    shown = scene(WAVE, CHASE)
    ready = prepared(shown, 1)
    frame = plain_pixels.render(shown, zone(), plain_pixels.places_of(zone()), START_S)
    codes = ready.limit(ready.linear(START_S), 1.0, START_S).codes
    assert np.abs(codes[:, :3].astype(int) - plain_pixels.limit(frame, KIND, BUDGET_A)).max() <= 2
    assert codes.max() < 200  # the budget bites, so both had to scale


def test_the_encoded_frame_is_the_same_bytes() -> None:
    encoder = NrzEncoder(KIND, PIXELS)
    codes = np.random.default_rng(1).integers(0, 256, (PIXELS, 4), dtype=np.uint8)
    symbols = ["".join(map(str, encoder.symbol.pattern(one=one))) for one in (False, True)]
    plain = plain_pixels.encode([(int(r), int(g), int(b)) for r, g, b, _ in codes], *symbols)
    assert plain in bytes(encoder.encode(codes))

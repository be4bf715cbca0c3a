"""The benchmark's baseline does the board's work: written apart, it comes to the same light, codes and bytes."""

import numpy as np
import pytest

from node_agent.outputs import NrzEncoder
from node_agent.render import PatternStatement
from schemas import Scene
from schemas.pattern import PATTERNS as REGISTERED
from tests.bench import plain_pixels
from tests.bench.render_load import (
    BUDGET_A,
    CHASE,
    KIND,
    PATTERNS,
    PIXELS,
    START_S,
    SWEEP,
    WAVE,
    prepared,
    scene,
    zone,
)

TABLE_STEP = 1.5e-3
"""Light is looked up in tables of 4,096 places, here of mixes in OKLab and of the normal distribution."""


def test_every_pattern_is_measured() -> None:
    assert {pattern.pattern for pattern in PATTERNS} == set(REGISTERED)


@pytest.mark.parametrize("pattern", PATTERNS, ids=lambda pattern: pattern.pattern)
def test_each_pattern_is_the_same_light(pattern: PatternStatement) -> None:
    assert_same_light(scene(pattern))


def test_a_masked_layer_is_the_same_light() -> None:
    assert_same_light(scene(WAVE, mask=SWEEP))


def assert_same_light(shown: Scene) -> None:
    places, lit = plain_pixels.places_of(zone()), []
    for show_s in (START_S, START_S + 0.7):
        expected = np.array(plain_pixels.render(shown, zone(), places, show_s))
        np.testing.assert_allclose(prepared(shown, 1).linear(shown.id, show_s), expected, atol=TABLE_STEP)
        lit.append(expected.max())
    assert max(lit) > 0.1


def test_the_limited_frame_is_the_same_codes_but_for_the_limiters_reserve_and_dither() -> None:
    shown = scene(WAVE, CHASE)
    ready = prepared(shown, 1)
    frame = plain_pixels.render(shown, zone(), plain_pixels.places_of(zone()), START_S)
    codes = ready.limit(ready.linear(shown.id, START_S), 1.0, START_S).codes
    assert np.abs(codes[:, :3].astype(int) - plain_pixels.limit(frame, KIND, BUDGET_A)).max() <= 3
    assert codes.max() < 200  # the budget bites, so both had to scale


def test_the_encoded_frame_is_the_same_bytes() -> None:
    encoder = NrzEncoder(KIND, PIXELS)
    codes = np.random.default_rng(1).integers(0, 256, (PIXELS, 4), dtype=np.uint8)
    symbols = ["".join(map(str, encoder.symbol.pattern(one=one))) for one in (False, True)]
    plain = plain_pixels.encode([(int(r), int(g), int(b)) for r, g, b, _ in codes], *symbols)
    assert plain in bytes(encoder.encode(codes))

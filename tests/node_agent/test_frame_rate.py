"""The frame period that hub and board reckon with: never shorter than the encoders' wire time, and hardly longer."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from node_agent.frame_rate import FRAME_RATE_CEILING_HZ, IDLE_PERIOD_S, frame_period_s
from node_agent.outputs import encoder_for
from schemas import PIXEL_CATALOGUE
from tests.node_agent.documents import body, channel


@settings(max_examples=100)
@given(key=st.sampled_from(sorted(PIXEL_CATALOGUE)), pixels=st.integers(1, 4_096))
def test_period_leaves_every_frame_its_time_on_the_wire(key: str, pixels: int) -> None:
    kind = PIXEL_CATALOGUE[key]
    wire_s = encoder_for(kind, pixels).wire_time_s
    period_s = frame_period_s(body(channels=(channel(pixels=pixels, pixel_type=kind),), frame_rate_limit_hz=None))
    assert period_s >= max(wire_s * (1 - 1e-6), 1 / FRAME_RATE_CEILING_HZ)
    assert period_s <= max(wire_s + 20e-6, 1 / FRAME_RATE_CEILING_HZ)


def test_longest_run_sets_the_period() -> None:
    # 300 pixels of 24 bits of 1.25 µs and a reset of 50 µs: 9.05 ms, computed independently.
    both = body(channels=(channel(1, pixels=300), channel(2, pixels=10)), frame_rate_limit_hz=None)
    assert frame_period_s(both) == pytest.approx(9.05e-3, abs=10e-6)


def test_venue_may_ask_for_less_but_not_for_more_than_the_wire_holds() -> None:
    long = channel(pixels=300)
    assert frame_period_s(body(channels=(long,), frame_rate_limit_hz=25.0)) == 0.04
    assert frame_period_s(body(channels=(long,), frame_rate_limit_hz=1_000.0)) > 9.05e-3


def test_node_without_pixels_rests_between_frames() -> None:
    assert frame_period_s(body(channels=(), zones=(), frame_rate_limit_hz=None)) == IDLE_PERIOD_S

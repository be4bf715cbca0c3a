"""Amps of the trade's worked examples, and that an enforced budget is what makes the third of them safe.

All figures here are common practice, no source: an RGB pixel draws 20 mA in ordinary use and 60 mA at full white; 30
pixels are what hangs on a board's own pin; 150 pixels are said to go on a 5 V supply of 4 A; 80 % of a rating are used
(the 125 % for continuous load of NEC 210.20(A), carried over to a DC supply by practice, not by the code's text).
"""

from pathlib import Path

import numpy as np
import pytest

from node_agent.limiter import SAFE_BUDGET_A, BudgetLimiter
from node_agent.outputs import CaptureHeader, CaptureOutput, NrzEncoder, WireFrame, read_capture
from node_agent.power import PowerModel
from schemas import PIXEL_CATALOGUE, Budget, DesiredBody, DesiredChannel, Feed, Supply

RGB = PIXEL_CATALOGUE["rgb-5v-nrz800"]
SUPPLY = Supply(id="bench", volts=5.0, rated_a=4.0)


def body(pixels: int) -> DesiredBody:
    feed = Feed(supply=SUPPLY.id, wire_mm2=1.5, length_m=2.0)
    channel = DesiredChannel(number=1, pin="spidev0.0", pixels=pixels, pixel_type=RGB, feeds=(feed,))
    return DesiredBody(
        telemetry_interval_s=5.0,
        channels=(channel,),
        budgets=(Budget(supply=SUPPLY.id, budget_a=SUPPLY.budget_a),),
    )


def test_150_pixels_draw_9_amps_at_worst_and_3_typically() -> None:
    power = PowerModel(body(150))
    assert power.worst_case_a() == pytest.approx([9.0])  # 150 x 60 mA
    assert power.typical_a() == pytest.approx([3.0])  # 150 x 20 mA


def test_a_supply_of_4_amps_has_a_budget_of_3_2() -> None:
    assert SUPPLY.budget_a == pytest.approx(3.2)  # 4 A x 0.8


def test_the_supply_carries_the_typical_and_not_the_worst_case() -> None:
    power = PowerModel(body(150))
    assert power.typical_a()[0] < SUPPLY.budget_a < power.worst_case_a()[0]


def test_30_pixels_on_a_boards_own_pin_draw_the_safe_budget_typically() -> None:
    assert PowerModel(body(30)).typical_a() == pytest.approx([SAFE_BUDGET_A])


def test_full_white_on_150_pixels_never_exceeds_3_2_amps_in_any_captured_frame(tmp_path: Path) -> None:
    """Summed here from the codes on the wire, 60 mA a pixel of which 0.9 idle, without the product's own model."""
    content = body(150)
    limiter, encoder = BudgetLimiter(content), NrzEncoder(RGB, 150)
    path = tmp_path / "channel-1.capture"
    output = CaptureOutput(path, CaptureHeader(pixel_type=RGB, pixels=150, clock_hz=encoder.clock_hz))
    for number in range(200):
        # A second of darkness and dim light lets the limiter release before white comes back.
        level = 1.0 if number % 100 >= 50 else number % 50 / 500
        white = np.full((150, 3), level, dtype=np.float32)
        output.send(WireFrame(encoder.encode(limiter.limit(white, 0.02).codes), number * 0.02, 1))
    output.close()
    amps = [
        (150 * 0.9 + float(frame.decode().codes[:, :3].sum()) / 255 * (60 - 0.9) / 3) / 1000
        for frame in read_capture(path)
    ]
    assert len(amps) == 200
    assert max(amps) <= 3.2
    assert max(amps) > 3.1  # and what the supply can give is used

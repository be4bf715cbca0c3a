"""sRGB to linear light against IEC 61966-2-1 and against the colour-science library."""

from types import ModuleType

import numpy as np
import pytest

from node_agent.render import linear_from_srgb, linear_rgb

# IEC 61966-2-1: linear = v / 12.92 up to 0.04045, else ((v + 0.055) / 1.055) ^ 2.4; computed from it for 8-bit codes.
IEC_VALUES = {
    0: 0.0,
    1: 0.00030353,
    10: 0.00303527,
    11: 0.00334654,  # the first above the linear part: 10/255 = 0.0392, 11/255 = 0.0431
    64: 0.05126946,
    127: 0.21223076,
    128: 0.21586050,
    188: 0.50288646,
    255: 1.0,
}


@pytest.mark.parametrize(("code", "linear"), IEC_VALUES.items())
def test_codes_become_the_linear_light_of_the_standard(code: int, linear: float) -> None:
    assert linear_from_srgb(np.array([code / 255]))[0] == pytest.approx(linear, abs=5e-9)


def test_all_256_codes_agree_with_an_independent_library(colour_science: ModuleType) -> None:
    encoded = np.arange(256) / 255
    expected = colour_science.models.eotf_sRGB(encoded)
    np.testing.assert_allclose(linear_from_srgb(encoded), expected, rtol=0, atol=1e-12)


def test_a_written_colour_is_red_green_blue_in_linear_light() -> None:
    np.testing.assert_allclose(linear_rgb("#80400a"), [0.21586050, 0.05126946, 0.00303527], atol=1e-7)

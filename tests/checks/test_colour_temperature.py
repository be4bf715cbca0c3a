"""Colour temperatures against CIE's black body, computed by colour-science, and its published chromaticities."""

from types import ModuleType

import numpy as np
import pytest

from node_agent.render import linear_of_kelvin
from node_agent.render.black_body import black_body_xy

# Planckian x, y for the 1931 2° observer, computed with colour-science 0.4.7.
PLANCKIAN_XY = {
    2000: (0.52668, 0.41330),
    2700: (0.45986, 0.41060),
    3000: (0.43693, 0.40408),
    4000: (0.38044, 0.37675),
    6500: (0.31353, 0.32363),
    10000: (0.28063, 0.28829),
}
# The same in linear sRGB with the largest 1, computed with colour-science 0.4.7.
LINEAR_RGB = {
    2700: (1.0, 0.4154, 0.0991),
    4000: (1.0, 0.6536, 0.3773),
    6500: (1.0, 0.9429, 0.9921),
    10000: (0.6093, 0.6952, 1.0),
}


@pytest.mark.parametrize(("kelvin", "xy"), PLANCKIAN_XY.items())
def test_chromaticity_is_that_of_the_table(kelvin: float, xy: tuple[float, float]) -> None:
    np.testing.assert_allclose(black_body_xy(kelvin), xy, atol=6e-6)


@pytest.mark.parametrize(("kelvin", "linear"), LINEAR_RGB.items())
def test_linear_light_is_that_of_the_table(kelvin: float, linear: tuple[float, float, float]) -> None:
    np.testing.assert_allclose(linear_of_kelvin(kelvin), linear, atol=1e-4)


def test_illuminant_a_has_the_chromaticity_that_cie_15_gives_it() -> None:
    # CIE 15: illuminant A, x 0.44758, y 0.40745, is a black body at 2,855.5 K (from memory).
    np.testing.assert_allclose(black_body_xy(2855.5), (0.44758, 0.40745), atol=2e-5)


@pytest.mark.filterwarnings("ignore")  # the library warns of spectra that it extends
def test_every_temperature_agrees_with_spectra_added_up(colour_science: ModuleType) -> None:
    observer = colour_science.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    for kelvin in np.random.default_rng(4).uniform(1_000, 20_000, 25):
        xyz = colour_science.sd_to_XYZ(colour_science.sd_blackbody(kelvin, observer.shape), observer)
        np.testing.assert_allclose(black_body_xy(kelvin), xyz[:2] / xyz.sum(), atol=2e-6)


@pytest.mark.parametrize("tint_duv", [-0.02, -0.005, 0.005, 0.02])
@pytest.mark.parametrize("kelvin", [2_700, 4_000, 6_500])
def test_tint_is_the_distance_from_the_locus(colour_science: ModuleType, kelvin: float, tint_duv: float) -> None:
    """CCT and Duv to CIE 1960 u, v by Ohno (2013), as ANSI C78.377 uses them; positive is green."""
    u, v = colour_science.temperature.CCT_to_uv_Ohno2013((kelvin, tint_duv))
    xy = colour_science.UCS_uv_to_xy((u, v))
    rgb = np.maximum(colour_science.XYZ_to_RGB(colour_science.xy_to_XYZ(xy), "sRGB"), 0.0)
    np.testing.assert_allclose(linear_of_kelvin(kelvin, tint_duv), rgb / rgb.max(), atol=1e-3)

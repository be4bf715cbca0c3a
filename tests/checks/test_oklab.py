"""OKLab against the pairs published with it, and ramps that are even in it."""

from types import ModuleType

import numpy as np
import pytest

from node_agent.render import linear_rgb
from node_agent.render.oklab import linear_of_oklab, oklab_of_linear
from node_agent.render.ramp import STEPS, Ramp
from schemas import Stop

# The table of XYZ (D65) and L, a, b published with OKLab (B. Ottosson, 2020), to three places; from memory.
PUBLISHED = {
    (0.950, 1.000, 1.089): (1.000, 0.000, 0.000),
    (1.000, 0.000, 0.000): (0.450, 1.236, -0.019),
    (0.000, 1.000, 0.000): (0.922, -0.671, 0.263),
    (0.000, 0.000, 1.000): (0.153, -1.415, -0.449),
}


@pytest.mark.parametrize(("xyz", "lab"), PUBLISHED.items())
def test_published_pairs(
    colour_science: ModuleType, xyz: tuple[float, float, float], lab: tuple[float, float, float]
) -> None:
    rgb = colour_science.XYZ_to_RGB(np.array(xyz), "sRGB")
    np.testing.assert_allclose(oklab_of_linear(rgb), lab, atol=1.5e-3)


def test_any_colour_agrees_with_an_independent_library_and_comes_back(colour_science: ModuleType) -> None:
    rgb = np.random.default_rng(1).random((200, 3))
    expected = colour_science.XYZ_to_Oklab(colour_science.RGB_to_XYZ(rgb, "sRGB"))
    np.testing.assert_allclose(oklab_of_linear(rgb), expected, atol=2e-4)
    np.testing.assert_allclose(linear_of_oklab(oklab_of_linear(rgb)), rgb, atol=1e-12)


@pytest.mark.parametrize(("low", "high"), [("#000000", "#ffffff"), ("#201008", "#ffb060"), ("#d02020", "#20d0c0")])
def test_a_ramp_steps_evenly_to_the_eye(low: str, high: str) -> None:
    ramp = Ramp((Stop(at=0.0, colour=low), Stop(at=1.0, colour=high)), "oklab")
    lab = oklab_of_linear(ramp.exactly(np.linspace(0, 1, 33)).T)
    steps = np.linalg.norm(np.diff(lab, axis=0), axis=1)
    np.testing.assert_allclose(steps, steps.mean(), rtol=2e-2)
    np.testing.assert_allclose(lab[16], (lab[0] + lab[-1]) / 2, atol=2e-3)


def test_a_ramp_in_linear_light_adds_as_light_does() -> None:
    ramp = Ramp((Stop(at=0.0, colour="#200000"), Stop(at=1.0, colour="#ff80ff")), "linear")
    middle = (linear_rgb("#200000") + linear_rgb("#ff80ff")) / 2
    np.testing.assert_allclose(ramp.exactly(np.array([0.5]))[:, 0], middle, atol=1e-6)


@pytest.mark.parametrize("mix", ["oklab", "linear"])
def test_the_table_is_within_half_a_step_of_the_ramp(mix: str) -> None:
    stops = (Stop(at=0.0, colour="black"), Stop(at=0.3, colour="#ff2000"), Stop(at=1.0, colour="#fff0d0"))
    ramp = Ramp(stops, "oklab" if mix == "oklab" else "linear")
    place = np.random.default_rng(2).random(500)
    looked_up, index = np.empty((3, 500), np.float32), np.empty(500, np.intp)
    ramp.look_up(place.astype(np.float32), index, looked_up)
    half = 0.5 / (STEPS - 1)
    near = np.sort([ramp.exactly(np.clip(place + step, 0, 1)) for step in (-half, 0.0, half)], axis=0)
    assert (looked_up >= near[0] - 1e-5).all()
    assert (looked_up <= near[-1] + 1e-5).all()

"""A layer's own time, and its mask in it."""

import numpy as np
import pytest
from numpy.typing import NDArray

from node_agent.render import Renderer
from node_agent.render.patterns.wash import Wash
from node_agent.render.patterns.wave import Wave
from schemas import Layer, Scene
from tests.node_agent.render.zones import whole_body

BODY = whole_body((20, 13))
WAVE = Wave(pattern="wave", crest="gold", trough="#001030", wavelength_m=1.7, speed_m_per_s=0.6)
WHITE = Wash(pattern="wash", colour="white")


def frame(layer: Layer, show_time_s: float) -> NDArray[np.float32]:
    return Renderer(BODY).render(Scene(id="one", title="One", layers=(layer,)), show_time_s)


@pytest.mark.parametrize(("time_scale", "phase_s"), [(2.0, 0.0), (1.0, 3.25), (-0.5, 1.0), (0.0, 4.5)])
def test_a_layers_time_is_show_time_scaled_and_ahead_by_its_phase(time_scale: float, phase_s: float) -> None:
    for show_time_s in (0.0, 7.3, 1.8e9):
        shown = frame(Layer(zone="front", pattern=WAVE, time_scale=time_scale, phase_s=phase_s), show_time_s)
        expected = frame(Layer(zone="front", pattern=WAVE), show_time_s * time_scale + phase_s)
        np.testing.assert_array_equal(shown, expected)


def test_a_mask_keeps_the_layers_time() -> None:
    still = frame(Layer(zone="front", pattern=WHITE, mask=WAVE), 6.0)
    scaled = frame(Layer(zone="front", pattern=WHITE, mask=WAVE, time_scale=3.0), 2.0)
    np.testing.assert_array_equal(scaled, still)
    assert still.min() < 0.2
    assert still.max() > 0.5


def test_a_still_pattern_under_a_moving_mask_moves() -> None:
    layer = Layer(zone="front", pattern=WHITE, mask=WAVE)
    assert not np.array_equal(frame(layer, 0.0), frame(layer, 1.0))


def test_a_layer_that_stands_still_does_not_keep_one_below_from_moving() -> None:
    layers = (Layer(zone="front", pattern=WAVE), Layer(zone="front", pattern=WHITE, opacity=0.5, time_scale=0.0))
    renderer, scene = Renderer(BODY), Scene(id="two", title="Two", layers=layers)
    assert not np.array_equal(renderer.render(scene, 0.0), renderer.render(scene, 1.0))

"""Layers over one another, in linear light, at any show time and in any order of calls."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from node_agent.render import PatternStatement, Renderer, linear_rgb
from node_agent.render.patterns.spot import Spot, SpotSpan
from node_agent.render.patterns.wash import Wash
from schemas import DesiredZone, Layer, Scene
from tests.node_agent.render.patterns.examples import EXAMPLES
from tests.node_agent.render.zones import extent, scene, spans, whole_body

PIXELS = (5, 4, 3)


def wash(colour: str) -> Wash:
    return Wash(pattern="wash", colour=colour)


def test_a_scene_without_layers_is_darkness() -> None:
    frame = Renderer(whole_body(PIXELS)).render(scene(), 12.5)
    assert frame.shape == (12, 3)
    assert frame.dtype == np.float32
    assert not frame.any()


def test_a_node_without_channels_renders_an_empty_frame() -> None:
    body = whole_body(PIXELS).model_copy(update={"channels": (), "zones": ()})
    assert Renderer(body).render(scene(wash("#ffffff")), 0.0).shape == (0, 3)


def test_pixels_outside_the_zone_stay_dark() -> None:
    body = whole_body(PIXELS)
    middle = DesiredZone(id="front", extent=extent(PIXELS), spans=spans(PIXELS, (1, 2, 3))[1:2])
    frame = Renderer(body.model_copy(update={"zones": (middle,)})).render(scene(wash("#ff0000")), 0.0)
    assert frame[:, 0].tolist() == [0.0] * 5 + [1.0] * 4 + [0.0] * 3


def test_a_layer_lies_over_the_one_before_by_its_opacity_in_linear_light() -> None:
    layers = (
        Layer(zone="front", pattern=wash("#804020")),
        Layer(zone="front", opacity=0.25, pattern=wash("#2040ff")),
    )
    frame = Renderer(whole_body(PIXELS)).render(Scene(id="mix", title="Mix", layers=layers), 0.0)
    expected = 0.75 * linear_rgb("#804020") + 0.25 * linear_rgb("#2040ff")
    np.testing.assert_allclose(frame, np.tile(expected, (12, 1)), atol=1e-6)


def test_a_spot_leaves_what_is_below_it_around_its_pixels() -> None:
    spot = Spot(pattern="spot", colour="#00ff00", spans=(SpotSpan(first=2, pixels=2), SpotSpan(first=11)))
    frame = Renderer(whole_body(PIXELS)).render(scene(wash("#ff0000"), spot), 0.0)
    assert np.flatnonzero(frame[:, 1]).tolist() == [2, 3, 11]
    assert np.flatnonzero(frame[:, 0] == 0).tolist() == [2, 3, 11]


def test_a_layer_over_a_zone_foreign_to_the_node_adds_nothing() -> None:
    layers = (Layer(zone="front", pattern=wash("#ff0000")), Layer(zone="elsewhere", pattern=wash("#0000ff")))
    frame = Renderer(whole_body(PIXELS)).render(Scene(id="two", title="Two", layers=layers), 0.0)
    assert frame.tolist() == [[1.0, 0.0, 0.0]] * 12


def test_a_zone_of_many_scattered_spans_is_composited_as_one_of_few() -> None:
    body = whole_body((60,))
    whole = body.zones[0].spans[0]
    # Every second pixel, as thirty spans of one pixel: more than the renderer visits one by one.
    single = tuple(
        whole.model_copy(update={"first": 2 * number, "pixels": 1, "start_m": number * 0.1, "start_index": number})
        for number in range(30)
    )
    scattered = body.model_copy(update={"zones": (body.zones[0].model_copy(update={"spans": single}),)})
    frame = Renderer(scattered).render(scene(wash("#ffffff"), EXAMPLES["wave"], opacity=0.5), 3.0)
    assert (frame[0::2] > 0).all()
    assert not frame[1::2].any()


@pytest.mark.parametrize("pattern", EXAMPLES.values(), ids=EXAMPLES)
@settings(max_examples=15)
@given(show_time_s=st.floats(0, 4e9), opacity=st.floats(0, 1))
def test_every_frame_stays_within_0_and_1(pattern: PatternStatement, show_time_s: float, opacity: float) -> None:
    frame = Renderer(whole_body(PIXELS)).render(scene(wash("#ffffff"), pattern, opacity=opacity), show_time_s)
    assert float(frame.min()) >= 0
    assert float(frame.max()) <= 1


@pytest.mark.parametrize("pattern", EXAMPLES.values(), ids=EXAMPLES)
def test_a_frame_depends_on_scene_and_show_time_alone(pattern: PatternStatement) -> None:
    shown, other = scene(pattern), scene(wash("#123456"))
    renderer = Renderer(whole_body(PIXELS))
    first = renderer.render(shown, 1000.25).copy()
    for show_time_s in (1003.0, 5.0, 1.7e9, 1001.0):
        renderer.render(shown, show_time_s)
        renderer.render(other, show_time_s)
    assert renderer.render(shown, 1000.25).tobytes() == first.tobytes()
    assert Renderer(whole_body(PIXELS)).render(shown, 1000.25).tobytes() == first.tobytes()


def test_a_frame_is_a_new_array_unless_one_is_given() -> None:
    renderer = Renderer(whole_body(PIXELS))
    red = renderer.render(scene(wash("#ff0000")), 0.0)
    blue = renderer.render(scene(wash("#0000ff")), 0.0)
    assert red[0].tolist() == [1.0, 0.0, 0.0]
    given_out: NDArray[np.float32] = np.empty((12, 3), dtype=np.float32)
    assert renderer.render(scene(wash("#0000ff")), 0.0, out=given_out) is given_out
    assert given_out.tobytes() == np.ascontiguousarray(blue).tobytes()


def test_more_scenes_than_are_kept_prepared_render_right() -> None:
    renderer = Renderer(whole_body(PIXELS))
    scenes = [scene(wash(f"#{level:02x}0000")) for level in range(20)]
    for _ in range(2):
        for level, shown in enumerate(scenes):
            assert renderer.render(shown, 0.0)[0, 0] == linear_rgb(f"#{level:02x}0000")[0]

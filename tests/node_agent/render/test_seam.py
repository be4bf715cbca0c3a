"""A pattern across nodes has no seam: the parts, rendered by three nodes, are the whole, bit by bit."""

from typing import get_args

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from node_agent.render import PatternStatement, Renderer
from node_agent.render.patterns.gradient import Gradient
from schemas import Layer, Scene, Stop
from schemas.scene import Blend
from tests.node_agent.render.patterns.examples import EXAMPLES
from tests.node_agent.render.zones import part_bodies, whole_body

GROUND = Gradient(pattern="gradient", stops=(Stop(at=0.0, colour="#203040"), Stop(at=1.0, colour="#c0a080")))
BLENDS = get_args(get_args(Blend)[0])


@st.composite
def layers(draw: st.DrawFn, pattern: PatternStatement) -> Layer:
    """The pattern under all that a layer may add to it."""
    return Layer(
        zone="front",
        pattern=pattern,
        opacity=draw(st.sampled_from((1.0, 0.6))),
        blend=draw(st.sampled_from(BLENDS)),
        mask=draw(st.none() | st.sampled_from(list(EXAMPLES.values()))),
        time_scale=draw(st.sampled_from((1.0, 0.3, -2.5, 0.0))),
        phase_s=draw(st.sampled_from((0.0, 0.77, -100.1))),
    )


@pytest.mark.parametrize("pattern", EXAMPLES.values(), ids=EXAMPLES)
@settings(max_examples=20)
@given(data=st.data(), pixels=st.lists(st.integers(1, 97), min_size=3, max_size=3), show_time_s=st.floats(0, 4e9))
def test_three_nodes_show_bit_by_bit_what_one_node_would(
    pattern: PatternStatement, data: st.DataObject, pixels: list[int], show_time_s: float
) -> None:
    ground = Layer(zone="front", pattern=GROUND)
    shown = Scene(id="evening", title="Evening", layers=(ground, data.draw(layers(pattern))))
    whole = Renderer(whole_body(pixels)).render(shown, show_time_s)
    parts = [Renderer(body).render(shown, show_time_s) for body in part_bodies(pixels)]
    assert np.concatenate(parts).tobytes() == np.ascontiguousarray(whole).tobytes()

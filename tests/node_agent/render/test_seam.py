"""A pattern across nodes has no seam: the parts, rendered by three nodes, are the whole, bit by bit."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from node_agent.render import Along, Renderer
from node_agent.render.patterns.chase import Chase
from node_agent.render.patterns.gradient import Gradient
from node_agent.render.patterns.spot import Spot, SpotSpan
from node_agent.render.patterns.twinkle import Twinkle
from node_agent.render.patterns.wash import Wash
from node_agent.render.patterns.wave import Wave
from schemas import Stop
from schemas.pattern import Pattern
from tests.node_agent.render.zones import part_bodies, scene, whole_body

PATTERNS = ("wash", "spot", "gradient", "chase", "wave", "twinkle")
ALONG = st.sampled_from(("s", "x", "y"))


def pattern(name: str, along: Along, speed_m_per_s: float) -> Pattern:
    match name:
        case "wash":
            return Wash(pattern="wash", colour="#c08040")
        case "spot":
            return Spot(pattern="spot", colour="#ffffff", spans=(SpotSpan(first=3, pixels=40), SpotSpan(first=90)))
        case "gradient":
            stops = (Stop(at=0.1, colour="#ff0000"), Stop(at=0.9, colour="#0040ff"))
            return Gradient(pattern="gradient", along=along, stops=stops)
        case "chase":
            return Chase(
                pattern="chase",
                colour="#ffffff",
                along=along,
                length_m=0.4,
                spacing_m=1.7,
                tail_m=0.6,
                speed_m_per_s=speed_m_per_s,
            )
        case "wave":
            return Wave(
                pattern="wave",
                crest="#ffb060",
                trough="#101030",
                along=along,
                wavelength_m=1.3,
                speed_m_per_s=speed_m_per_s,
            )
        case _:
            return Twinkle(pattern="twinkle", colour="#ffd8a0", share=0.4, period_s=1.7, seed=7)


@pytest.mark.parametrize("name", PATTERNS)
@settings(max_examples=40, deadline=None)
@given(
    pixels=st.lists(st.integers(1, 97), min_size=3, max_size=3),
    along=ALONG,
    speed_m_per_s=st.sampled_from((0.0, 0.37, -2.9)),
    show_time_s=st.floats(0, 4e9),
    opacity=st.sampled_from((1.0, 0.6)),
)
def test_three_nodes_show_bit_by_bit_what_one_node_would(
    name: str, pixels: list[int], along: Along, speed_m_per_s: float, show_time_s: float, opacity: float
) -> None:
    shown = scene(Wash(pattern="wash", colour="#203040"), pattern(name, along, speed_m_per_s), opacity=opacity)
    whole = Renderer(whole_body(pixels)).render(shown, show_time_s)
    parts = [Renderer(body).render(shown, show_time_s) for body in part_bodies(pixels)]
    assert np.concatenate(parts).tobytes() == np.ascontiguousarray(whole).tobytes()

"""Blends against the formulas of W3C Compositing and Blending Level 1, written out here for one pixel at a time.

co = cs x as + cb x ab x (1 - as) with cs = (1 - ab) x Cs + ab x B(Cb, Cs); the backdrop is opaque, so ab = 1.
"add" is plus-lighter: min(1, as x cs + ab x cb). We apply them to linear light; the formulas leave the space open.
"""

import json
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from node_agent.render import Renderer
from node_agent.render.patterns.gradient import Gradient
from node_agent.render.patterns.wash import Wash
from schemas import Layer, LinearColour, Scene, Stop
from tests.node_agent.render.zones import whole_body

MODES: dict[str, Callable[[float, float], float]] = {
    "normal": lambda _, source: source,
    "lighten": lambda backdrop, source: max(backdrop, source),
    "multiply": lambda backdrop, source: backdrop * source,
}
SHARES = st.floats(0, 1, width=16)
LIGHT = st.tuples(SHARES, SHARES, SHARES)


def composited(blend: str, backdrop: float, source: float, alpha: float) -> float:
    if blend == "add":
        return min(1.0, alpha * source + backdrop)
    return alpha * MODES[blend](backdrop, source) + (1 - alpha) * backdrop


@pytest.mark.parametrize("blend", ["normal", "add", "lighten", "multiply"])
@settings(max_examples=60)
@given(backdrop=LIGHT, source=LIGHT, opacity=SHARES, mask=SHARES)
def test_a_layer_meets_what_lies_below_by_the_formula(
    blend: str, backdrop: tuple[float, ...], source: tuple[float, ...], opacity: float, mask: float
) -> None:
    def wash(light: tuple[float, ...]) -> dict[str, object]:
        return {"pattern": "wash", "colour": {"linear": list(light)}}

    document = {
        "id": "two",
        "title": "Two",
        "layers": [
            {"zone": "front", "pattern": wash(backdrop)},
            {
                "zone": "front",
                "pattern": wash(source),
                "blend": blend,
                "opacity": opacity,
                "mask": wash((mask, mask, mask)),
            },
        ],
    }
    scene = Scene.model_validate_json(json.dumps(document))
    frame = Renderer(whole_body((3,))).render(scene, 0.0)
    expected = [composited(blend, below, above, opacity * mask) for below, above in zip(backdrop, source, strict=True)]
    np.testing.assert_allclose(frame[1], expected, atol=1e-6)


def test_a_mask_lets_through_by_the_luminance_of_its_light() -> None:
    """W3C CSS Masking Level 1, luminance masks; Y of linear sRGB by IEC 61966-2-1: 0.2126, 0.7152, 0.0722."""
    stops = (Stop(at=0.0, colour=LinearColour(linear=(1, 0, 0))), Stop(at=1.0, colour=LinearColour(linear=(0, 1, 0))))
    mask = Gradient(pattern="gradient", stops=stops, mix="linear")
    white = Wash(pattern="wash", colour="white")
    scene = Scene(id="masked", title="Masked", layers=(Layer(zone="front", pattern=white, mask=mask),))
    frame = Renderer(whole_body((10,))).render(scene, 0.0)
    place = (np.arange(10) + 0.5) / 10
    np.testing.assert_allclose(frame[:, 2], 0.2126 * (1 - place) + 0.7152 * place, atol=1e-6)

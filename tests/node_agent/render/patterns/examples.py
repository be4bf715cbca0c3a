"""At least one example of every pattern, by what it shows: what holds for all patterns is tested on these.

Sized for the zones of `tests.node_agent.render.zones`, 7.5 m across and 1.5 m high.
"""

from collections.abc import Mapping
from typing import Final

from node_agent.render import PatternStatement
from node_agent.render.patterns.bands import Bands
from node_agent.render.patterns.chase import Chase
from node_agent.render.patterns.drift import Drift
from node_agent.render.patterns.ember import Ember
from node_agent.render.patterns.formula import Formula
from node_agent.render.patterns.gradient import Gradient
from node_agent.render.patterns.picture import SUN_OVER_THE_SEA, Picture
from node_agent.render.patterns.pulse import Pulse
from node_agent.render.patterns.spot import Spot, SpotSpan
from node_agent.render.patterns.sweep import Sweep
from node_agent.render.patterns.text import Text
from node_agent.render.patterns.twinkle import Twinkle
from node_agent.render.patterns.wash import Wash
from node_agent.render.patterns.wave import Wave
from schemas import Stop, TemperatureColour

_STOPS: Final = (Stop(at=0.1, colour="#ff0000"), Stop(at=0.5, colour="gold"), Stop(at=0.9, colour="#0040ff"))

EXAMPLES: Final[Mapping[str, PatternStatement]] = {
    "wash": Wash(pattern="wash", colour=TemperatureColour(kelvin=2700, level=0.8)),
    "spot": Spot(pattern="spot", colour="#ffffff", spans=(SpotSpan(first=3, pixels=40), SpotSpan(first=90))),
    "gradient along": Gradient(pattern="gradient", stops=_STOPS),
    "gradient across": Gradient(pattern="gradient", along="x", stops=_STOPS, mix="linear"),
    "chase": Chase(pattern="chase", colour="#ffffff", length_m=0.4, spacing_m=1.7, tail_m=0.6, speed_m_per_s=0.37),
    "chase up, hard": Chase(
        pattern="chase", colour="#80ff20", along="y", length_m=0.1, spacing_m=0.35, speed_m_per_s=-2.9
    ),
    "wave": Wave(pattern="wave", crest="#ffb060", trough="#101030", wavelength_m=1.3, speed_m_per_s=0.37),
    "wave backwards": Wave(
        pattern="wave", crest="#ffffff", trough="#000000", mix="linear", along="x", wavelength_m=0.9, speed_m_per_s=-2.9
    ),
    "wave that stands": Wave(pattern="wave", crest="#ffb060", trough="navy", wavelength_m=2.0, speed_m_per_s=0.0),
    "twinkle": Twinkle(pattern="twinkle", colour="#ffd8a0", share=0.4, period_s=1.7, seed=7),
    "pulse": Pulse(pattern="pulse", low="#201040", high="#ffb060", rise_s=1.3, hold_s=0.2, fall_s=2.1, rest_s=0.4),
    "pulse, hard": Pulse(pattern="pulse", high="#ffffff", rise_s=0.0, hold_s=0.7, fall_s=0.0, rest_s=1.1),
    "sweep": Sweep(pattern="sweep", colour="#40c0ff", cross_s=2.3, hold_s=0.4, rest_s=0.9, soft_m=0.8),
    "sweep up and back": Sweep(
        pattern="sweep", colour="#ffffff", along="y", leaves="back", cross_s=0.7, hold_s=0.0, rest_s=0.0, soft_m=0.0
    ),
    "bands": Bands(
        pattern="bands", colours=("#802010", "gold", "#204080"), width_m=0.45, soft_m=0.2, speed_m_per_s=0.37
    ),
    "bands, hard": Bands(
        pattern="bands", colours=("#ffffff", "#000000"), along="x", mix="linear", width_m=0.31, speed_m_per_s=-2.9
    ),
    "bands that stand": Bands(pattern="bands", colours=("#ff0000", "#00ff00", "#0000ff"), along="y", width_m=0.2),
    "ember": Ember(pattern="ember", size_m=0.2, period_s=3.7, seed=3),
    "drift": Drift(pattern="drift", stops=_STOPS, size_m=1.9, period_s=11.3, seed=4),
    "picture": Picture(pattern="picture", columns=16, rows=6, image=SUN_OVER_THE_SEA, speed_m_per_s=0.37),
    "picture that stands": Picture(pattern="picture", columns=16, rows=6, image=SUN_OVER_THE_SEA),
    "text": Text(pattern="text", words="Até às 9", colour="gold", speed_m_per_s=-0.37),
    "text, small": Text(pattern="text", words="Open", colour="#ffffff", height_m=0.6, gap_m=0.35, speed_m_per_s=2.9),
    "text that stands": Text(pattern="text", words="Open", colour="#ffffff"),
    "formula": Formula(
        pattern="formula",
        formula="0.5 + 0.5 * sin(5 * x - 2 * pi * turn) * cos(y + t) * exp(-(s % 2.3) / 3)",
        period_s=3.7,
        stops=_STOPS,
    ),
    "formula that stands": Formula(
        pattern="formula", formula="sqrt(x * x + y * y) / width", period_s=1.0, mix="linear"
    ),
    "formula of time alone": Formula(pattern="formula", formula="smooth(0, 0.5, turn)", period_s=1.3, stops=_STOPS),
}

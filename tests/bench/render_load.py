"""What the benchmark of frames renders: a board of four channels of 512 pixels, on a front of eight rows of 256."""

from node_agent.prepared import PreparedRevision
from node_agent.render import PatternStatement
from node_agent.render.image import packed_image
from node_agent.render.patterns.bands import Bands
from node_agent.render.patterns.chase import Chase
from node_agent.render.patterns.drift import Drift
from node_agent.render.patterns.ember import Ember
from node_agent.render.patterns.formula import Formula
from node_agent.render.patterns.gradient import Gradient
from node_agent.render.patterns.picture import Picture
from node_agent.render.patterns.pulse import Pulse
from node_agent.render.patterns.spot import Spot, SpotSpan
from node_agent.render.patterns.sweep import Sweep
from node_agent.render.patterns.text import Text
from node_agent.render.patterns.twinkle import Twinkle
from node_agent.render.patterns.wash import Wash
from node_agent.render.patterns.wave import Wave
from schemas import (
    PIXEL_CATALOGUE,
    Budget,
    Desired,
    DesiredBody,
    DesiredChannel,
    DesiredZone,
    Extent,
    Feed,
    Layer,
    PlacedSpan,
    Scene,
    Stop,
    body_sha256,
)

KIND = PIXEL_CATALOGUE["rgb-5v-nrz800"]
CHANNELS, PIXELS, ROWS = 4, 512, 8
BUDGET_A = 24.0
START_S = 1_800_000_002.3
VENUE, NODE, SUPPLY = "bench", "board", "bench"

_COLUMNS = CHANNELS * PIXELS // ROWS
_ROW_M, _ROWS_APART_M = _COLUMNS / 60, 0.1
_COALS = (
    Stop(at=0.0, colour="#0a0000"),
    Stop(at=0.3, colour="#300400"),
    Stop(at=0.6, colour="#a03000"),
    Stop(at=1.0, colour="#ffb060"),
)
_POINTS = bytes(
    code for row in range(6) for column in range(24) for code in (200 - 30 * row, 8 * column, 8 * (row + column))
)
_SKY = (Stop(at=0.0, colour="#0a1a40"), Stop(at=0.5, colour="#2a7f8f"), Stop(at=1.0, colour="#ffd9a0"))

CHASE = Chase(pattern="chase", colour="#ffffff", length_m=0.5, spacing_m=3.0, tail_m=1.0, speed_m_per_s=0.75)
WAVE = Wave(pattern="wave", crest="#ffb060", trough="#201008", wavelength_m=4.0, speed_m_per_s=0.5)
TWINKLE = Twinkle(pattern="twinkle", colour="#ffd8a0", share=0.3, period_s=2.0, seed=7)
BACKWARD = Wave(pattern="wave", mix="linear", crest="#4060ff", trough="#001020", wavelength_m=2.5, speed_m_per_s=-0.25)
SWEEP = Sweep(pattern="sweep", colour="#40c0ff", along="x", cross_s=6.0, hold_s=0.0, rest_s=0.0, soft_m=0.8)

PATTERNS: tuple[PatternStatement, ...] = (
    Wash(pattern="wash", colour="#ffb060"),
    Spot(pattern="spot", colour="#ffffff", spans=(SpotSpan(first=100, pixels=300),)),
    Gradient(pattern="gradient", stops=_SKY),
    CHASE,
    WAVE,
    TWINKLE,
    Pulse(pattern="pulse", high="#ffb060", low="#100820", rise_s=3.0, fall_s=3.0),
    SWEEP,
    Bands(pattern="bands", colours=("#802010", "#ffb060", "#204080"), width_m=0.7, soft_m=0.2, speed_m_per_s=0.3),
    Ember(pattern="ember", stops=_COALS, size_m=0.3, period_s=8.0, seed=3),
    Drift(pattern="drift", stops=_SKY, size_m=1.5, period_s=30.0, seed=4),
    Picture(pattern="picture", columns=24, rows=6, image=packed_image(_POINTS), speed_m_per_s=0.2),
    Text(pattern="text", words="Open until nine", colour="#ffd8a0", speed_m_per_s=-0.4),
    Formula(
        pattern="formula",
        formula="0.5 + 0.5 * sin(2 * pi * (x / 2 - turn)) * cos(pi * y / 3)",
        period_s=6.0,
        stops=_SKY,
    ),
)
"""One of each, at work at `START_S` and for as long as the benchmark runs."""


def zone() -> DesiredZone:
    spans = tuple(_row(number) for number in range(ROWS))
    extent = Extent(
        length_m=ROWS * _ROW_M,
        pixels=ROWS * _COLUMNS,
        x_min_m=0.0,
        x_max_m=_ROW_M,
        y_min_m=3.0,
        y_max_m=3.0 + (ROWS - 1) * _ROWS_APART_M,
    )
    return DesiredZone(id="front", extent=extent, spans=spans)


def _row(number: int) -> PlacedSpan:
    """Row by row upwards, there and back: two on each channel."""
    y_m = 3.0 + number * _ROWS_APART_M
    ends = ((0.0, y_m), (_ROW_M, y_m))
    return PlacedSpan(
        channel=number // 2 + 1,
        first=number % 2 * _COLUMNS,
        pixels=_COLUMNS,
        path=ends[::-1] if number % 2 else ends,
        start_m=number * _ROW_M,
        start_index=number * _COLUMNS,
    )


def scene(*patterns: PatternStatement, mask: PatternStatement | None = None) -> Scene:
    layers = tuple(Layer(zone="front", opacity=0.8, pattern=pattern, mask=mask) for pattern in patterns)
    return Scene(id="evening", title="Evening", layers=layers)


def desired(shown: Scene, revision: int) -> Desired:
    channels = tuple(
        DesiredChannel(
            number=number,
            pin=f"spidev{number - 1}.0",
            pixels=PIXELS,
            pixel_type=KIND,
            feeds=(Feed(supply=SUPPLY, wire_mm2=1.5, length_m=2.0),),
        )
        for number in range(1, CHANNELS + 1)
    )
    body = DesiredBody(
        telemetry_interval_s=5.0,
        channels=channels,
        budgets=(Budget(supply=SUPPLY, budget_a=BUDGET_A),),
        zones=(zone(),),
        scenes=(shown,),
        showing=shown.id,
    )
    return Desired(venue=VENUE, node=NODE, revision=revision, sha256=body_sha256(body), body=body)


def prepared(shown: Scene, revision: int) -> PreparedRevision:
    return PreparedRevision(desired(shown, revision))

"""What must hold for every pattern, on its examples."""

import math
from fractions import Fraction

import numpy as np
import pytest
from numpy.typing import NDArray
from pydantic.fields import FieldInfo

from node_agent.render import PatternStatement, Renderer, channel_slices, place_zone
from schemas import DesiredBody, Layer, PlacedSpan, Scene
from schemas.pattern import PATTERNS
from tests.node_agent.render.patterns.examples import EXAMPLES
from tests.node_agent.render.zones import extent, scene, whole_body

BODY = whole_body((40, 31, 22))
EXTENT = BODY.zones[0].extent
TIMES_S = (0.0, 0.31, 2.718, 41.9)
TODAY_S = 1_800_000_000
A_MOMENT_S = 2e-6  # show time resolves to a quarter of a microsecond today
UNITS = {
    "_m_per_s": "m/s",
    "_per_s": "1/s",
    "_m": "m",
    "_s": "s",
    "_deg": "°",
    "_hz": "Hz",
    "_k": "K",
}

every_example = pytest.mark.parametrize("example", EXAMPLES.values(), ids=EXAMPLES)
every_moving_example = pytest.mark.parametrize(
    "example",
    [pytest.param(one, id=name) for name, one in EXAMPLES.items() if one.repeats_after_s(EXTENT) is not None],
)


def period_of(example: PatternStatement) -> Fraction:
    period = example.repeats_after_s(EXTENT)
    assert period is not None
    return period


def rendered(example: PatternStatement, *times_s: float, body: DesiredBody = BODY) -> NDArray[np.float32]:
    """Shape (times, pixels, 3), over a colour that shows through where the pattern covers little."""
    renderer = Renderer(body)
    shown = scene(PATTERNS["wash"].model_validate({"pattern": "wash", "colour": "#203040"}), example)
    return np.stack([renderer.render(shown, time_s) for time_s in times_s])


def assert_same_moment(frame: NDArray[np.float32], example: PatternStatement, time_s: float) -> None:
    """Within what the pattern shows in the microseconds around that time: a hard edge may just have passed a pixel."""
    around = rendered(example, time_s - A_MOMENT_S, time_s, time_s + A_MOMENT_S)
    assert (frame >= around.min(axis=0) - 1e-5).all()
    assert (frame <= around.max(axis=0) + 1e-5).all()


def test_every_pattern_has_an_example() -> None:
    assert {example.pattern for example in EXAMPLES.values()} == set(PATTERNS)


@every_moving_example
def test_it_is_seamless_at_its_period(example: PatternStatement) -> None:
    period = period_of(example)
    for time_s in TIMES_S:
        (later,) = rendered(example, float(Fraction(time_s) + period))
        assert_same_moment(later, example, time_s)
        today_s = float(TODAY_S // period * period + Fraction(time_s))
        (today,) = rendered(example, today_s)
        assert_same_moment(today, example, time_s)
        (tomorrow,) = rendered(example, float(Fraction(today_s) + period))
        assert_same_moment(tomorrow, example, time_s)


@every_moving_example
def test_it_does_not_drift_in_a_thousand_million_seconds(example: PatternStatement) -> None:
    period = period_of(example)
    for time_s in TIMES_S:
        (later,) = rendered(example, float(Fraction(time_s) + round(10**9 / period) * period))
        assert_same_moment(later, example, time_s)


@every_moving_example
def test_it_moves(example: PatternStatement) -> None:
    period_s = float(period_of(example))
    frames = rendered(example, *np.linspace(0, period_s, 40, endpoint=False))
    assert np.ptp(frames, axis=0).max() > 0.1


@pytest.mark.parametrize(
    "example", [pytest.param(one, id=name) for name, one in EXAMPLES.items() if one.repeats_after_s(EXTENT) is None]
)
def test_what_has_no_period_stands_still(example: PatternStatement) -> None:
    frames = rendered(example, *TIMES_S, TODAY_S)
    assert (frames == frames[0]).all()


@every_example
def test_a_frame_depends_on_the_show_time_alone(example: PatternStatement) -> None:
    times_s = (1000.25, 1000.26, 5.0, 1.7e9, -3.0, 0.0, 1001.0, 4e9)
    used = Renderer(BODY)
    shown = scene(example)
    fresh = {time_s: Renderer(BODY).render(shown, time_s).tobytes() for time_s in times_s}
    for time_s in (*times_s, *times_s[::-1], *times_s[::2]):
        assert used.render(shown, time_s).tobytes() == fresh[time_s]


@every_example
def test_light_and_cover_lie_in_0_to_1_in_the_shapes_that_were_promised(example: PatternStatement) -> None:
    placement = place_zone(BODY.zones[0], channel_slices(BODY))
    light = example.light(placement)
    for time_s in (*TIMES_S, TODAY_S, 4e9, -7.7):
        shown = light.evaluate(float(time_s))
        assert shown.colour.dtype == np.float32
        assert shown.colour.shape in ((3, 1), (3, placement.x_m.size))
        for part in (shown.colour, shown.cover):
            if part is not None:
                assert np.isfinite(part).all()
                assert 0 <= part.min() <= part.max() <= 1
        if shown.cover is not None:
            assert shown.cover.dtype == np.float32
            assert shown.cover.shape == placement.x_m.shape


def zone_of(*path: tuple[float, float], pixels: int) -> DesiredBody:
    body = whole_body((pixels,))
    span = PlacedSpan(channel=1, first=0, pixels=pixels, path=path, start_m=0.0, start_index=0)
    xs, ys = zip(*path, strict=True)
    bounds = extent((pixels,)).model_copy(
        update={
            "length_m": math.dist(*path),
            "x_min_m": min(xs),
            "x_max_m": max(xs),
            "y_min_m": min(ys),
            "y_max_m": max(ys),
        }
    )
    zone = body.zones[0].model_copy(update={"spans": (span,), "extent": bounds})
    return body.model_copy(update={"zones": (zone,)})


@every_example
@pytest.mark.parametrize(
    "body",
    [
        pytest.param(zone_of((3.0, 2.0), (3.0, 2.0), pixels=1), id="a single pixel"),
        pytest.param(zone_of((3.0, 2.0), (3.0, 2.0), pixels=5), id="pixels on one point"),
        pytest.param(zone_of((-40.0, -2.0), (-31.5, -9.0), pixels=60), id="left of and below the origin"),
        pytest.param(zone_of((0.0, 0.0), (9_000.0, 4_000.0), pixels=60), id="kilometres across"),
    ],
)
def test_it_works_on_any_zone(example: PatternStatement, body: DesiredBody) -> None:
    frames = rendered(example, *TIMES_S, TODAY_S, body=body)
    assert np.isfinite(frames).all()
    assert 0 <= frames.min() <= frames.max() <= 1


def fields_of(example: PatternStatement) -> dict[str, FieldInfo]:
    fields = type(example).model_fields
    return {name: field for name, field in fields.items() if name != "pattern"}


@every_example
def test_every_field_says_in_a_sentence_what_it_does(example: PatternStatement) -> None:
    properties = type(example).model_json_schema()["properties"]
    for name in fields_of(example):
        assert properties[name].get("description", "").endswith("."), name
    assert (type(example).__doc__ or "").strip().endswith(".")


@every_example
def test_every_number_with_a_unit_states_it_and_its_range(example: PatternStatement) -> None:
    properties = type(example).model_json_schema()["properties"]
    for name in fields_of(example):
        said = properties[name]
        unit = next((unit for ending, unit in UNITS.items() if name.endswith(ending)), None)
        assert said.get("unit") == unit, name
        if said.get("type") in ("number", "integer"):
            assert {"minimum", "maximum"} <= set(said), name


@every_example
def test_a_scene_of_it_reads_back_from_json(example: PatternStatement) -> None:
    shown = Scene(id="one", title="One", layers=(Layer(zone="front", pattern=example, mask=example),))
    assert Scene.model_validate_json(shown.model_dump_json()) == shown

"""A pixel type from a meter: what was read comes out again, and what cannot be read from such pixels is refused."""

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from hub.electrical.measured import MeterReading, measured_pixel_type
from hub.errors import InvalidError
from hub.venue_file import read_venue, write_pixel_types
from schemas import PIXEL_CATALOGUE, EmitterCurrents

RGB = PIXEL_CATALOGUE["rgb-5v-nrz800"]
RGBW = PIXEL_CATALOGUE["rgbw-5v-nrz800"]
BASE: dict[str, Any] = {"pixels": 50, "volts": 4.9, "idle_a": 0.05, "full_a": 3.05, "on": date(2025, 3, 1)}


def reading(**changes: Any) -> MeterReading:  # noqa: ANN401 (any field's value)
    return MeterReading(**(BASE | changes))


def test_idle_and_full_are_divided_by_the_pixels() -> None:
    kind = measured_pixel_type(reading(), RGB).pixel_type
    assert kind.idle_ma == pytest.approx(1.0)  # 0.05 A over 50 pixels
    assert kind.full_ma == EmitterCurrents(red=20.0, green=20.0, blue=20.0)  # 3.00 A over 50 pixels and three colours
    assert kind.full_pixel_ma * 50 == pytest.approx(3050)


def test_what_no_meter_shows_is_that_of_the_like_type() -> None:
    kind = measured_pixel_type(reading(), RGB).pixel_type
    assert (kind.timing, kind.colour_order, kind.minimum_volts) == (RGB.timing, RGB.colour_order, RGB.minimum_volts)
    assert (kind.key, kind.title) == ("rgb-5v-nrz800-measured", f"{RGB.title}, measured")
    named = measured_pixel_type(reading(), RGB, "reel-7", "Reel 7").pixel_type
    assert (named.key, named.title) == ("reel-7", "Reel 7")


def test_measured_values_name_day_run_and_volts_and_the_others_keep_their_source() -> None:
    sources = measured_pixel_type(reading(red_a=1.05), RGB).pixel_type.sources
    assert sources is not None
    assert RGB.sources is not None
    assert sources.of("idle_ma") == "measured on 2025-03-01: 50 pixels at 4.9 V, 0.05 A dark"
    assert "3.05 A with every emitter full; red alone too" in sources.of("full_ma")
    assert sources.of("timing") == RGB.sources.of("timing")


def test_colours_read_alone_are_taken_and_the_rest_is_shared_as_published() -> None:
    kind = measured_pixel_type(reading(red_a=0.55), RGB).pixel_type
    assert kind.full_ma.red == pytest.approx(10.0)
    assert kind.full_ma.green == kind.full_ma.blue == pytest.approx(25.0)


def test_the_fourth_emitter_counts_where_there_is_one() -> None:
    kind = measured_pixel_type(reading(full_a=4.05), RGBW).pixel_type
    assert kind.full_ma.white == pytest.approx(20.0)
    with pytest.raises(InvalidError) as refused:
        measured_pixel_type(reading(white_a=1.0), RGB)
    assert refused.value.mistakes[0].field == "white_a"


def test_the_worst_case_is_never_below_what_was_read_with_all_full() -> None:
    low = measured_pixel_type(reading(red_a=0.95, green_a=0.95, blue_a=0.95), RGB).pixel_type
    assert low.full_pixel_ma * 50 == pytest.approx(3050, abs=0.1)


def test_colours_that_add_up_to_more_than_full_are_taken_and_cautioned_about() -> None:
    found = measured_pixel_type(reading(red_a=1.3, green_a=1.3, blue_a=1.3), RGB)
    assert found.pixel_type.full_ma.red == pytest.approx(25.0)
    assert any("the far end lacks volts" in caution for caution in found.cautions)


@pytest.mark.parametrize(("volts", "words"), [(3.2, "below the lowest working volts"), (6.0, "check it first")])
def test_volts_that_spoil_the_reading_are_cautioned_about(volts: float, words: str) -> None:
    assert any(words in caution for caution in measured_pixel_type(reading(volts=volts), RGB).cautions)
    assert measured_pixel_type(reading(), RGB).cautions == ()


@pytest.mark.parametrize(
    ("full_a", "percent", "words"),
    [
        (3.05, 1.7, "2 % more than published, which does not matter"),
        (3.29, 9.7, "does not matter"),
        (3.31, 10.3, "which matters: budgets, wires and fuses worked out from rgb-5v-nrz800 are too small"),
        (2.0, -33.3, "33 % less than published, which matters: rgb-5v-nrz800 is on the safe side"),
    ],
)
def test_a_difference_matters_beyond_ten_percent(full_a: float, percent: float, words: str) -> None:
    found = measured_pixel_type(reading(full_a=full_a), RGB)
    worst = found.compared[-1]
    assert (worst.current, worst.published_ma) == ("worst case", 60.0)
    assert worst.difference_percent == pytest.approx(percent)
    assert worst.matters == (abs(percent) > 10)
    assert words in found.verdict


def test_an_idle_current_that_differs_is_told_in_amps() -> None:
    found = measured_pixel_type(reading(idle_a=0.1), RGB)
    assert "Dark it draws 2 mA and not 0.9: over 1,000 pixels 2 A and not 0.9" in found.verdict


def test_every_current_is_compared() -> None:
    assert [one.current for one in measured_pixel_type(reading(), RGBW).compared] == [
        "idle", "red", "green", "blue", "white", "worst case",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"full_a": 31.0}, "full_a"),
        ({"idle_a": 20.0, "full_a": 21.0}, "idle_a"),
        ({"red_a": 0.04}, "red_a"),
        ({"pixels": 1}, "full_a"),
    ],
)
def test_a_reading_that_no_such_pixels_give_is_refused(changes: dict[str, Any], field: str) -> None:
    with pytest.raises(InvalidError) as refused:
        measured_pixel_type(reading(**changes), RGB)
    assert field in [mistake.field for mistake in refused.value.mistakes]


@pytest.mark.parametrize("changes", [{"full_a": 0.05}, {"pixels": 0}, {"idle_a": -1}, {"volts": float("nan")}])
def test_a_reading_outside_its_bounds_is_refused(changes: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        reading(**changes)


def test_a_type_without_currents_cannot_be_compared_with() -> None:
    dark = RGB.model_copy(update={"idle_ma": 0.0, "full_ma": EmitterCurrents(red=0.0, green=0.0, blue=0.0)})
    with pytest.raises(InvalidError, match="no such pixels"):
        measured_pixel_type(reading(), dark)


@given(
    key=st.sampled_from(sorted(PIXEL_CATALOGUE)),
    pixels=st.integers(1, 300),
    idle_ma=st.floats(0, 5),
    lit_ma=st.floats(1, 190),
)
def test_any_measured_type_is_one_that_a_venue_takes(key: str, pixels: int, idle_ma: float, lit_ma: float) -> None:
    idle_a = pixels * idle_ma / 1e3
    taken = MeterReading(**(BASE | {"pixels": pixels, "idle_a": idle_a, "full_a": idle_a + pixels * lit_ma / 1e3}))
    kind = measured_pixel_type(taken, PIXEL_CATALOGUE[key]).pixel_type
    assert kind.full_pixel_ma == pytest.approx(idle_ma + lit_ma, abs=0.01)
    venue = read_venue(("id: shop\ntitle: Shop\n" + write_pixel_types([kind])).encode())
    assert venue.pixel_types == (kind,)

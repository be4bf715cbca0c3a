"""Text: words that can be read off the pixels."""

import numpy as np
import pytest
from numpy.typing import NDArray
from pydantic import ValidationError

from node_agent.render.dot_letters import ROWS, words_in_dots
from node_agent.render.patterns.text import Text
from schemas import Extent
from tests.node_agent.render.patterns.lights import PITCH_M, grid

WORDS = "Open, 9 - 21h: Größe Ä!"
DOTS = words_in_dots(WORDS)


def text(words: str = WORDS, **stated: float) -> Text:
    return Text(pattern="text", words=words, colour="#ffffff", **stated)


def shown(pattern: Text, columns: int, rows: int, show_time_s: float = 0.0, pitch_m: float = PITCH_M) -> np.ndarray:
    """Covers, shape (rows, columns), from the top."""
    cover = pattern.light(grid(columns, rows, pitch_m)).evaluate(show_time_s).cover
    assert cover is not None
    return cover.reshape(rows, columns)[::-1].copy()


def in_the_midst_of(columns: int, dots: NDArray[np.bool_]) -> NDArray[np.bool_]:
    left = (columns - dots.shape[1]) // 2
    return np.pad(dots, ((0, 0), (left, columns - dots.shape[1] - left)))


def test_standing_words_are_read_off_seven_rows_dot_by_dot() -> None:
    columns = DOTS.shape[1] + 9
    np.testing.assert_array_equal(shown(text(), columns, ROWS), in_the_midst_of(columns, DOTS))


def test_running_words_are_read_off_wherever_they_are_on_whole_dots() -> None:
    columns = DOTS.shape[1] + 9
    # The words, and as much darkness as the zone is wide.
    endless = np.pad(DOTS, ((0, 0), (0, columns)))
    for seconds in (0, 1, 7, 40):
        covers = shown(text(speed_m_per_s=-0.5), columns, ROWS, float(seconds))
        np.testing.assert_allclose(covers, np.roll(endless, -5 * seconds, axis=1)[:, :columns], atol=1e-5)


def test_words_on_pixels_twice_and_three_times_as_dense_are_read_off_the_middles_of_dots() -> None:
    columns = DOTS.shape[1] + 9
    for times in (2, 3):
        covers = shown(text(), columns * times, (ROWS - 1) * times + 1, pitch_m=PITCH_M / times)
        # A dot is several pixels across; rows of dots lie on every such row of pixels.
        across = covers[::times].reshape(ROWS, columns, times).mean(axis=2)
        np.testing.assert_array_equal(across > 0.5, in_the_midst_of(columns, DOTS))


def test_light_goes_over_from_pixel_to_pixel_without_a_jump() -> None:
    columns = DOTS.shape[1]
    frames = np.array([shown(text(speed_m_per_s=-0.5), columns, ROWS, 3 + step / 100) for step in range(60)])
    assert np.abs(np.diff(frames, axis=0)).max() <= 0.5 / PITCH_M / 100 + 1e-4
    # What one pixel loses its neighbour gains.
    assert np.ptp(frames[:, :, 20:-20].sum(axis=(1, 2))) < 20


def test_words_wider_than_the_zone_stand_from_its_left() -> None:
    np.testing.assert_array_equal(shown(text(), 20, ROWS), DOTS[:, :20])


def test_lower_words_stand_in_the_middle_and_repeat_after_their_gap() -> None:
    dots = words_in_dots("Hi")
    pattern = text("Hi", height_m=0.6, gap_m=0.4, speed_m_per_s=0.1)
    columns = 3 * (dots.shape[1] + 4)
    covers = shown(pattern, columns, ROWS + 4)
    np.testing.assert_allclose(covers[2:-2], np.tile(np.pad(dots, ((0, 0), (0, 4))), 3), atol=1e-5)
    assert not covers[:2].any()
    assert not covers[-2:].any()
    assert pattern.repeats_after_s(grid(columns, ROWS + 4).extent) == pytest.approx((dots.shape[1] + 4) * 0.1 / 0.1)


def test_the_last_letter_never_touches_the_first() -> None:
    dots = words_in_dots("O")
    covers = shown(text("O", gap_m=0.0, speed_m_per_s=1.0), 24, ROWS)
    np.testing.assert_allclose(covers, np.tile(np.pad(dots, ((0, 0), (0, 1))), 4), atol=1e-5)


@pytest.mark.parametrize("speed_m_per_s", [0.0, 1.0])
def test_on_a_zone_without_height_nothing_can_be_read(speed_m_per_s: float) -> None:
    assert not shown(text(speed_m_per_s=speed_m_per_s), 30, 1).any()
    extent = Extent(length_m=3.0, pixels=30, x_min_m=0.0, x_max_m=3.0, y_min_m=1.0, y_max_m=1.0)
    assert text(speed_m_per_s=speed_m_per_s).repeats_after_s(extent) is None


@pytest.mark.parametrize(
    ("words", "character", "place"),
    [("sale \u0436", r"\u0436", 6), ("\x1b[2J", r"\x1b", 1), ("two\nlines", r"\n", 4), ("sun \u2600", r"\u2600", 5)],
)
def test_a_character_without_a_letter_is_refused_by_name_and_place(words: str, character: str, place: int) -> None:
    with pytest.raises(ValidationError) as caught:
        text(words)
    (error,) = caught.value.errors()
    assert error["loc"] == ("words",)
    assert error["msg"] == f"there is no letter for '{character}', which is character {place} of the words"
    assert error["ctx"]["remedy"] == "write Latin letters, digits and the signs of a keyboard"

"""Picture: an image laid on the elevation."""

import base64
import zlib

import numpy as np
import pytest
from pydantic import ValidationError

from node_agent.render import linear_from_srgb
from node_agent.render.image import MAX_PACKED, packed_image
from node_agent.render.patterns.picture import Picture
from schemas import Extent
from tests.node_agent.render.patterns.lights import grid

COLUMNS, ROWS = 12, 5
CODES = np.random.default_rng(1).integers(0, 256, (ROWS, COLUMNS, 3), dtype=np.uint8)
LINEAR = linear_from_srgb(CODES / 255.0)


def picture(speed_m_per_s: float = 0.0, codes: bytes = CODES.tobytes()) -> Picture:
    return Picture(
        pattern="picture", columns=COLUMNS, rows=ROWS, image=packed_image(codes), speed_m_per_s=speed_m_per_s
    )


def shown(pattern: Picture, columns: int, rows: int, show_time_s: float) -> np.ndarray:
    """Shape (rows, columns, 3), from the top."""
    colour = pattern.light(grid(columns, rows)).evaluate(show_time_s).colour
    return colour.reshape(3, rows, columns).transpose(1, 2, 0)[::-1].copy()


@pytest.mark.parametrize("speed_m_per_s", [0.0, 0.7])
def test_on_as_many_pixels_every_point_is_a_pixel(speed_m_per_s: float) -> None:
    np.testing.assert_allclose(shown(picture(speed_m_per_s), COLUMNS, ROWS, 0.0), LINEAR, atol=1e-6)


def test_between_points_light_is_mixed_linearly() -> None:
    # Twice as fine: the rows in between lie half-way, the columns a quarter away from the nearer point.
    fine = shown(picture(), 2 * COLUMNS, 2 * ROWS - 1, 0.0)
    np.testing.assert_allclose(fine[1::2, 3], 0.375 * (LINEAR[:-1, 1] + LINEAR[1:, 1]) + 0.125 * (
        LINEAR[:-1, 2] + LINEAR[1:, 2]
    ), atol=1e-6)  # fmt: skip


@pytest.mark.parametrize(("speed_m_per_s", "columns_to_the_right"), [(0.5, 5), (-0.5, -5)])
def test_it_travels_and_comes_in_again_at_the_other_end(speed_m_per_s: float, columns_to_the_right: int) -> None:
    moved = shown(picture(speed_m_per_s), COLUMNS, ROWS, 1.0)  # pixels are 0.1 m apart
    np.testing.assert_allclose(moved, np.roll(LINEAR, columns_to_the_right, axis=1), atol=1e-5)


def test_it_repeats_after_the_zones_width() -> None:
    extent = grid(COLUMNS, ROWS).extent
    assert picture(0.5).repeats_after_s(extent) == pytest.approx(2.4)
    assert picture(0.0).repeats_after_s(extent) is None
    start, later = (shown(picture(0.5), COLUMNS, ROWS, show_time_s) for show_time_s in (0.3, 0.3 + 2.4))
    np.testing.assert_allclose(start, later, atol=1e-5)


def test_a_zone_without_extent_shows_the_middle() -> None:
    point = grid(1, 1)
    nothing = Extent(length_m=0.0, pixels=1, x_min_m=0.05, x_max_m=0.05, y_min_m=0.0, y_max_m=0.0)
    there = type(point)(point.x_m, point.y_m, point.s_m, point.index, point.frame_index, nothing)
    colour = picture(3.0).light(there).evaluate(7.0).colour
    np.testing.assert_allclose(colour[:, 0], (LINEAR[2, 5] + LINEAR[2, 6]) / 2, atol=1e-6)


BOMB = base64.b64encode(zlib.compress(bytes(10_000_000), 9)).decode()
FAULTS = {
    "more than stated": (packed_image(CODES.tobytes() + b"\0"), "image", "it holds more than 12 columns x 5 rows"),
    "less than stated": (packed_image(CODES.tobytes()[:-1]), "image", "it holds less than 12 columns x 5 rows"),
    "cut off": (packed_image(CODES.tobytes())[:-8], "image", "it holds less than 12 columns x 5 rows"),
    "no base64": ("*" * 40, "image", "it is not an image in zlib and base64"),
    "not of ASCII": ("é" * 40, "image", "it is not an image in zlib and base64"),
    "no zlib": (base64.b64encode(b"rows of points").decode(), "image", "it is not an image in zlib and base64"),
    "a bomb": (BOMB[:MAX_PACKED], "image", "it holds more than 12 columns x 5 rows"),
}


@pytest.mark.parametrize(("image", "field", "reason"), FAULTS.values(), ids=FAULTS)
def test_an_image_that_cannot_be_read_is_refused(image: str, field: str, reason: str) -> None:
    with pytest.raises(ValidationError) as caught:
        Picture(pattern="picture", columns=COLUMNS, rows=ROWS, image=image)
    (error,) = caught.value.errors()
    assert (error["loc"], error["msg"]) == ((field,), reason)
    assert "stringcourse scene picture" in error["ctx"]["remedy"]


def test_too_many_points_are_refused_before_they_are_unpacked() -> None:
    with pytest.raises(ValidationError, match="128 columns x 33 rows are more than 4096 points") as caught:
        Picture(pattern="picture", columns=128, rows=33, image=BOMB[:MAX_PACKED])
    (error,) = caught.value.errors()
    assert error["ctx"]["remedy"] == "make the image smaller: with 128 columns, 32 rows at most"


def test_the_largest_image_fits_though_nothing_of_it_repeats() -> None:
    codes = np.random.default_rng(2).integers(0, 256, 4_096 * 3, dtype=np.uint8).tobytes()
    stored = base64.b64encode(zlib.compress(codes, 0)).decode()
    Picture(pattern="picture", columns=128, rows=32, image=stored)

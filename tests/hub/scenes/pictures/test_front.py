from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from hub.scenes import elevation_of
from hub.scenes.elevation import points_of
from hub.scenes.lights import srgb_codes
from hub.scenes.pictures import NightFront
from hub.scenes.pictures.openings import openings
from hub.scenes.pictures.view import NARROWEST_PX, WIDEST_PX
from hub.venue_file import read_venue_file

ARCADE = Path(__file__).parents[4] / "deploy" / "demo" / "arcade.yaml"


def _row(lamps: int, spacing_m: float = 0.5, height_m: float = 3.0) -> NDArray[np.float64]:
    return np.stack([np.arange(lamps) * spacing_m, np.full(lamps, height_m)], axis=1)


def _at(front: NightFront, points_m: NDArray[np.float64], drawn: NDArray[np.uint8]) -> NDArray[np.uint8]:
    places = np.floor(front.view.places(points_m)).astype(int)
    at: NDArray[np.uint8] = drawn[places[:, 1], places[:, 0]]
    return at


def test_each_lamp_stands_in_its_place_in_its_own_colour() -> None:
    points = _row(12)
    front = NightFront(points, 640)
    light = np.zeros((12, 3), dtype=np.float32)
    light[3] = (0.5, 0.0, 0.0)
    light[8] = (0.0, 0.2, 0.6)
    seen = _at(front, points, front.draw(light)).astype(int)
    # Each lamp's own light, and 0.02 that is seen of it unlit.
    assert np.abs(seen[3] - srgb_codes(light[3] + np.float32(0.02))).max() <= 12
    assert np.abs(seen[8] - srgb_codes(light[8] + np.float32(0.02))).max() <= 12
    assert seen[[0, 1, 6, 11]].max() < 60


def test_crowded_lamps_show_the_mean_of_their_light_and_never_more() -> None:
    points = _row(3_000, spacing_m=0.01)
    front = NightFront(points, 640)
    light = np.zeros((3_000, 3), dtype=np.float32)
    light[::2] = 0.4
    seen = _at(front, points, front.draw(light))[500:2_500].astype(int)
    # 0.2 in linear light is sRGB code 124; the glow of a lit line and unlit lamps add up to 0.06.
    assert seen.min() >= 124
    assert seen.max() <= 140


def test_dark_front_is_seen_and_stays_dark() -> None:
    points = points_of(elevation_of(read_venue_file(ARCADE)))
    front = NightFront(points, 640)
    drawn = front.draw(np.zeros((len(points), 3), dtype=np.float32))
    assert drawn.shape == (212, 640, 3)
    assert drawn.max() < 50
    # The wall stands out from the sky.
    assert drawn[70, 300].mean() > drawn[5, 20].mean() + 10


def test_light_adds_up_in_linear_light() -> None:
    points = points_of(elevation_of(read_venue_file(ARCADE)))
    lamps = NightFront(points, 320)._lamps
    generator = np.random.default_rng(5)
    one, other = (generator.uniform(0, 0.3, (len(points), 3)).astype(np.float32) for _ in range(2))
    together = lamps.canvas(one + other) + lamps.still
    np.testing.assert_allclose(together, lamps.canvas(one) + lamps.canvas(other), atol=1e-5)


@pytest.mark.parametrize("lamps", [0, 1, 2])
def test_front_of_hardly_any_lamps_is_drawn(lamps: int) -> None:
    drawn = NightFront(_row(lamps), 320).draw(np.ones((lamps, 3), dtype=np.float32))
    assert drawn.shape[1] == 320
    assert (drawn.max() > 200) == (lamps > 0)


@pytest.mark.parametrize(
    "points",
    [
        np.array([[5.0, y / 10] for y in range(400)]),
        np.array([[x / 10, -2.0] for x in range(400)]),
        np.array([[x / 10, 80.0] for x in range(400)]),
        np.array([[0.0, -3.0], [0.0, 9.0], [1e-6, 3.0]]),
    ],
    ids=["tower", "below the ground", "far above the ground", "nearly one column"],
)
def test_all_lamps_lie_on_the_picture_whatever_the_front(points: NDArray[np.float64]) -> None:
    front = NightFront(points, 400)
    height, width, _ = front.draw(np.ones((len(points), 3), dtype=np.float32)).shape
    assert width == 400
    assert 80 <= height <= 400
    places = front.view.places(points)
    assert places.min() >= 0
    assert places[:, 0].max() < width
    assert places[:, 1].max() < height


@pytest.mark.parametrize("width_px", [0, -640, NARROWEST_PX - 1, WIDEST_PX + 1])
def test_width_of_no_picture_is_refused(width_px: int) -> None:
    with pytest.raises(ValueError, match="width_px"):
        NightFront(_row(3), width_px)


def test_behind_what_stands_on_two_feet_there_is_no_wall() -> None:
    points = points_of(elevation_of(read_venue_file(ARCADE)))
    front = NightFront(points, 640)
    opened = openings(front.view, points)
    places = front.view.places(np.array([[5.3, 1.0], [24.0, 2.5], [24.0, 6.8], [3.6, 1.0], [3.0, 5.7]]))
    row, column = places[:, 1].astype(int), places[:, 0].astype(int)
    # An arch, and the great one of two runs; not the gable, nor the wall between arches, nor the fascia.
    assert opened[row, column].tolist() == [True, True, False, False, False]

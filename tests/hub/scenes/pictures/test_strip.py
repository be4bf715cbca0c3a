import io

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from hub.errors import InvalidError
from hub.scenes import elevation_of
from hub.scenes.elevation import points_of
from hub.scenes.pictures import NightFront, contact_sheet, scene_strip
from tests.hub.scenes.pictures.scenes import WAVE, lit, wash


def _read(png: bytes) -> NDArray[np.uint8]:
    image = Image.open(io.BytesIO(png))
    assert (image.format, image.mode) == ("PNG", "RGB")
    return np.asarray(image)


def test_strip_holds_each_instant_as_it_is_drawn_under_its_time() -> None:
    lights, scene = lit(WAVE)
    strip = _read(scene_strip(lights, scene, instants=4, width_px=320))
    front = NightFront(points_of(elevation_of(lights.venue)), 320)
    high = front.view.height_px
    assert strip.shape == (34 + 4 * (high + 20), 320, 3)
    for number in range(4):
        top = 34 + number * (high + 20)
        light = lights.light(lights.limit(lights.linear_of(scene, number * 0.5), 1e6).codes)
        np.testing.assert_array_equal(strip[top + 20 : top + 20 + high], front.draw(light))
        # Its time is lettered above it, lighter than the ground.
        assert strip[top : top + 20, :80].max() > 100


def test_still_scene_is_drawn_once() -> None:
    lights, scene = lit(wash("#402010"))
    front = NightFront(points_of(elevation_of(lights.venue)), 320)
    assert _read(scene_strip(lights, scene, instants=4, width_px=320)).shape[0] == 34 + front.view.height_px + 20


def test_strip_larger_than_a_picture_may_be_is_refused() -> None:
    lights, scene = lit(WAVE)
    with pytest.raises(InvalidError):
        scene_strip(lights, scene, instants=1_000, width_px=1_600)


def test_contact_sheet_shows_every_scene_in_a_row_of_its_own() -> None:
    scenes = [lit(wash("#ff0000")), lit(WAVE), lit(wash("#0000ff"), nodes=5)]
    sheet = _read(contact_sheet([("A title", *one) for one in scenes], 3, front_px=200))
    fronts = [NightFront(points_of(elevation_of(lights.venue)), 200) for lights, _ in scenes]
    assert sheet.shape[1] == 12 + 3 * 212
    top = 0
    for (lights, scene), front in zip(scenes, fronts, strict=True):
        drawn = front.draw(lights.light(lights.limit(lights.linear_of(scene, 0.0), 1e6).codes))
        high = front.view.height_px
        np.testing.assert_array_equal(sheet[top + 50 : top + 50 + high, 12:212], drawn)
        top += high + 50


def test_title_of_any_text_stays_in_its_line() -> None:
    lights, scene = lit(wash("#402010"))
    odd = scene.model_copy(update={"title": "\u202e\u0000一\n" * 20})
    plain = _read(scene_strip(lights, scene, width_px=160))
    assert _read(scene_strip(lights, odd, width_px=160)).shape == plain.shape

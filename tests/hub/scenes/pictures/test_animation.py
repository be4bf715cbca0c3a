import io
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageSequence

from hub.errors import InvalidError
from hub.scenes import elevation_of
from hub.scenes.elevation import points_of
from hub.scenes.pictures import Format, NightFront, scene_animation, size
from hub.scenes.pictures.moments import light_through
from tests.hub.scenes.pictures.scenes import WAVE, lit, wash

SLACK = {Format.GIF: 12, Format.WEBP: 20}
"""Mean difference of lamps drawn and read back, in codes: GIF has 256 colours, WebP colour at half the detail."""


def _read(file: bytes) -> tuple[list[NDArray[np.uint8]], list[int], int]:
    """Frames as RGB, how long each is shown in ms, and how often the file runs (0 for ever)."""
    image = Image.open(io.BytesIO(file))
    frames, shown_ms = [], []
    for frame in ImageSequence.Iterator(image):
        frames.append(np.asarray(frame.convert("RGB")))
        shown_ms.append(int(frame.info["duration"]))
    return frames, shown_ms, image.info["loop"]


@pytest.mark.parametrize("kind", Format)
def test_wave_runs_in_a_loop_of_its_period_without_a_jump(kind: Format) -> None:
    lights, scene = lit(WAVE)
    made = scene_animation(lights, scene, kind, width_px=320)
    frames, shown_ms, loop = _read(made.file)
    assert made.moments.seamless
    assert (len(frames), loop) == (40, 0)
    assert shown_ms == list(made.moments.shown_ms) == [50] * 40
    steps = [np.abs(later.astype(int) - earlier).mean() for earlier, later in pairwise([*frames, frames[0]])]
    # From the last to the first it moves as far as anywhere: neither a jump nor a halt.
    assert 0.7 * np.median(steps) < steps[-1] < 1.3 * np.median(steps)


@pytest.mark.parametrize("kind", Format)
def test_what_is_read_back_is_what_was_drawn(kind: Format) -> None:
    lights, scene = lit(wash("#301000"), WAVE | {"crest": "#ff8000", "trough": "#0000a0"})
    made = scene_animation(lights, scene, kind, width_px=320, rate_hz=10.0)
    frames, _, _ = _read(made.file)
    points = points_of(elevation_of(lights.venue))
    front = NightFront(points, 320)
    places = np.floor(front.view.places(points)).astype(int)
    for light, frame in zip(light_through(lights, scene, made.moments), frames, strict=True):
        drawn = front.draw(light)
        lamps = np.abs(frame.astype(int) - drawn)[places[:, 1], places[:, 0]]
        assert np.abs(frame.astype(int) - drawn).mean() < 4
        assert lamps.mean() < SLACK[kind]


def test_gif_has_one_set_of_colours_for_all_frames() -> None:
    lights, scene = lit(WAVE | {"crest": "#ff0000", "trough": "#00ff00"})
    image = Image.open(io.BytesIO(scene_animation(lights, scene, Format.GIF, width_px=240).file))
    colours = {tuple(pixel) for frame in ImageSequence.Iterator(image) for pixel in _colours(frame)}
    assert len(colours) <= 256


def _colours(frame: Image.Image) -> NDArray[np.uint8]:
    return np.unique(np.asarray(frame.convert("RGB")).reshape(-1, 3), axis=0)


@pytest.mark.parametrize("kind", Format)
def test_rate_beyond_the_format_is_brought_down(kind: Format) -> None:
    lights, scene = lit(WAVE)
    made = scene_animation(lights, scene, kind, width_px=160, rate_hz=1_000.0)
    assert len(made.moments.instants_s) == 2 * kind.fastest_hz


@pytest.mark.parametrize("kind", Format)
def test_still_scene_is_one_frame(kind: Format) -> None:
    lights, scene = lit(wash("#402010"))
    image = Image.open(io.BytesIO(scene_animation(lights, scene, kind, width_px=160).file))
    assert getattr(image, "n_frames", 1) == 1


def test_more_frames_than_may_be_held_are_refused_with_a_remedy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(size, "MOST_POINTS", 500_000)
    lights, scene = lit(WAVE | {"speed_m_per_s": 0.01})
    with pytest.raises(InvalidError) as caught:
        scene_animation(lights, scene, Format.WEBP, width_px=320, longest_s=10.0, rate_hz=30.0)
    (mistake,) = caught.value.mistakes
    assert "smaller width" in mistake.remedy
    # Without a length the picture is as long as fits.
    made = scene_animation(lights, scene, Format.WEBP, width_px=320, rate_hz=30.0)
    assert 0.5 < made.moments.instants_s[-1] < 1.0

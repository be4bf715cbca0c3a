"""Moving pictures: GIF and WebP that run in a loop, without a jump where the scene's period fits."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from hub.scenes.elevation import elevation_of, points_of
from hub.scenes.lights import VenueLights
from hub.scenes.pictures.front import NightFront
from hub.scenes.pictures.moments import USUAL_S, Moments, light_through, moments_of, window_on
from hub.scenes.pictures.size import check_bytes, check_points, most_frames
from hub.scenes.pictures.view import USUAL_PX
from schemas import Scene

USUAL_HZ: Final = 20.0
_COLOURS: Final = 255
"""One of GIF's 256 stays free: Pillow lets it stand for what did not change since the frame before."""
_FRAMES_ASKED: Final = 16
_POINTS_ASKED: Final = 300_000

Frames = Sequence[NDArray[np.uint8]]


class Format(StrEnum):
    """What a moving picture is written as."""

    GIF = "gif"
    WEBP = "webp"

    @property
    def tick_ms(self) -> int:
        """Frames are shown for multiples of this: GIF counts in hundredths of a second."""
        return 10 if self is Format.GIF else 1

    @property
    def fastest_hz(self) -> float:
        """Browsers take GIF delays below 20 ms for slow ones, so 25 is the fastest that is even everywhere."""
        return 25.0 if self is Format.GIF else 30.0


@dataclass(frozen=True, slots=True)
class Animation:
    """A file, and what it shows."""

    file: bytes
    moments: Moments


def scene_animation(
    lights: VenueLights,
    scene: Scene,
    kind: Format,
    *,
    width_px: int = USUAL_PX,
    longest_s: float | None = None,
    rate_hz: float = USUAL_HZ,
) -> Animation:
    """The scene as it runs, limited as the boards do it: its whole period where that lasts `longest_s` at most.

    Without `longest_s` USUAL_S, or what a picture of that width may hold; InvalidError for more frames than that.
    """
    front = NightFront(points_of(elevation_of(lights.venue)), width_px)
    size = (width_px, front.view.height_px)
    rate_hz = min(rate_hz, kind.fastest_hz)
    if longest_s is None:
        longest_s = min(USUAL_S, most_frames(*size) / rate_hz)
    moments = moments_of(window_on(lights, scene), rate_hz, kind.tick_ms, longest_s)
    check_points(*size, len(moments.instants_s))
    frames = [front.draw(light) for light in light_through(lights, scene, moments)]
    written = gif(frames, moments.shown_ms) if kind is Format.GIF else webp(frames, moments.shown_ms)
    return Animation(check_bytes(written), moments)


def gif(frames: Frames, shown_ms: Sequence[int]) -> bytes:
    """A GIF that loops for ever. One set of colours serves all frames, so that nothing flickers between them."""
    colours = _colours(frames)
    # Without dithering: its grain would move from frame to frame.
    images = [Image.fromarray(frame).quantize(palette=colours, dither=Image.Dither.NONE) for frame in frames]
    file = io.BytesIO()
    images[0].save(file, "GIF", save_all=True, append_images=images[1:], duration=list(shown_ms), loop=0)
    return file.getvalue()


def webp(frames: Frames, shown_ms: Sequence[int]) -> bytes:
    """A WebP that loops for ever."""
    images = [Image.fromarray(frame) for frame in frames]
    file = io.BytesIO()
    images[0].save(
        file,
        "WEBP",
        save_all=True,
        append_images=images[1:],
        duration=list(shown_ms),
        loop=0,
        quality=85,
        method=2,
    )
    return file.getvalue()


def _colours(frames: Frames) -> Image.Image:
    """The colours that serve all frames best, from some points of some of them, first and last included."""
    asked = np.linspace(0, len(frames) - 1, min(len(frames), _FRAMES_ASKED)).round().astype(int)
    step = max(frames[0].shape[0] * frames[0].shape[1] * len(asked) // _POINTS_ASKED, 1)
    points = np.concatenate([frames[number].reshape(-1, 3)[::step] for number in asked])
    return Image.fromarray(points[None, :, :]).quantize(_COLOURS, method=Image.Quantize.FASTOCTREE)

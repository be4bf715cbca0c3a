"""One layer of a scene, prepared: a pattern on its zone, composited over what lies below."""

import numpy as np
from numpy.typing import NDArray

from node_agent.render.patterns.light import Light, TimedLight
from node_agent.render.patterns.statement import PatternStatement
from node_agent.render.placement import Placement
from schemas import Layer
from schemas.pattern import Pattern

_SCATTERED = 8  # with more stretches than this, one gather and scatter is cheaper than a visit to each stretch
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)  # Y of linear sRGB, IEC 61966-2-1

Array = NDArray[np.float32]


def weight_of(layer: Layer) -> float:
    """What a frame of the layer costs for each of its pixels, in layers of an ordinary pattern; a mask is one more."""
    patterns = (layer.pattern, layer.mask)
    return sum(pattern.weight for pattern in patterns if isinstance(pattern, PatternStatement))


class PreparedLayer:
    """Composites onto the planes (3, pixels) of a frame; pixels outside the zone stay as they are.

    over = below + a x (blend(below, colour) - below) with a = opacity x cover x mask, in linear light; "add" is
    below + a x colour, 1 at most (W3C Compositing and Blending: the separable blend modes, and plus-lighter).
    """

    def __init__(self, layer: Layer, placement: Placement) -> None:
        self._light = _prepare(layer.pattern, placement)
        self._mask = None if layer.mask is None else _prepare(layer.mask, placement)
        self._blend = layer.blend
        self._opacity = np.float32(layer.opacity)
        self._time_scale, self._phase_s = layer.time_scale, layer.phase_s
        frame_index = placement.frame_index
        breaks = np.flatnonzero(np.diff(frame_index) != 1) + 1
        begins, ends = np.append(0, breaks), np.append(breaks, frame_index.size)
        self._stretches = [
            (slice(int(frame_index[begin]), int(frame_index[begin]) + int(end - begin)), slice(int(begin), int(end)))
            for begin, end in zip(begins, ends, strict=True)
        ]
        self._scattered = frame_index if len(self._stretches) > _SCATTERED else None
        self._covered = np.empty(frame_index.size, dtype=np.float32)
        self._difference = np.empty((3, frame_index.size), dtype=np.float32)
        self._still_mask = self._mask_cover(self._mask) if isinstance(self._mask, Light) else None

    @property
    def moves(self) -> bool:
        return self._time_scale != 0 and not (isinstance(self._light, Light) and isinstance(self._mask, Light | None))

    def composite(self, planes: Array, show_time_s: float) -> None:
        time_s = show_time_s * self._time_scale + self._phase_s
        light = self._light.evaluate(time_s)
        cover = self._cover(light.cover, time_s)
        if self._scattered is not None:
            below = planes[:, self._scattered]
            self._over(below, light.colour, cover, self._difference)
            planes[:, self._scattered] = below
            return
        for of_frame, of_zone in self._stretches:
            colour = light.colour if light.colour.shape[1] == 1 else light.colour[:, of_zone]
            part = None if cover is None else cover[of_zone]
            self._over(planes[:, of_frame], colour, part, self._difference[:, of_zone])

    def _cover(self, cover: Array | None, time_s: float) -> Array | None:
        """Opacity x cover x mask; None where the opacity alone decides."""
        mask = self._still_mask
        if self._mask is not None and mask is None:
            mask = self._mask_cover(self._mask.evaluate(time_s))
        if mask is not None:
            cover = mask if cover is None else np.multiply(cover, mask, out=self._covered)
        if cover is not None and self._opacity != 1:
            cover = np.multiply(cover, self._opacity, out=self._covered)
        return cover

    def _mask_cover(self, light: Light) -> Array:
        """How far the mask lets the layer through: the luminance of its light, as a luminance mask of W3C CSS Masking.

        Written out term by term: a matrix product would round differently with the number of pixels.
        """
        red, green, blue = light.colour
        luminance = red * _LUMINANCE[0] + green * _LUMINANCE[1] + blue * _LUMINANCE[2]
        return np.broadcast_to(luminance if light.cover is None else luminance * light.cover, self._covered.shape)

    def _over(self, below: Array, colour: Array, cover: Array | None, difference: Array) -> None:
        part = self._opacity if cover is None else cover
        match self._blend:
            case "normal":
                if cover is None and self._opacity == 1:
                    below[...] = colour
                    return
                np.subtract(colour, below, out=difference)
            case "add":
                np.multiply(colour, part, out=difference)
                np.add(below, difference, out=below)
                np.minimum(below, np.float32(1), out=below)
                return
            case "lighten":
                np.maximum(colour, below, out=difference)
                np.subtract(difference, below, out=difference)
            case "multiply":
                np.multiply(colour, below, out=difference)
                np.subtract(difference, below, out=difference)
        np.multiply(difference, part, out=difference)
        np.add(below, difference, out=below)


def _prepare(pattern: Pattern, placement: Placement) -> TimedLight:
    if not isinstance(pattern, PatternStatement):
        raise TypeError(f"{type(pattern).__name__} states a pattern but has no light")
    return pattern.light(placement)

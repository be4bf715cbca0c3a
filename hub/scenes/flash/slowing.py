"""How much a scene is to be slowed down so that it passes."""

import math
from collections.abc import Callable
from typing import Final

from hub.scenes.flash.watching import Seen, Viewpoint, watch
from hub.scenes.lights import VenueLights
from schemas import Scene

ROUNDS: Final = 6


def slow_down_that_passes(
    lights: VenueLights, scene: Scene, viewpoint: Viewpoint, seen: Seen, breathe: Callable[[], None]
) -> float | None:
    """The largest factor, at most 1, at which the scene passes; None where none was found.

    A slowed scene takes its time to the same light, so it passes where no time that four flashes take is less than the
    factor. Light is limited in its own time all the same, so each factor is tried by rendering.
    """
    factor = 1.0
    for _ in range(ROUNDS):
        if not seen.fails:
            return factor
        factor = _three_digits(factor * seen.shortest_s)
        if factor == 0:
            return None
        seen = watch(lights, slowed(scene, factor), viewpoint, breathe)
    return None if seen.fails else factor


def slowed(scene: Scene, factor: float) -> Scene:
    """The scene with its time running `factor` times as fast."""
    # Nine decimals: what a person wrote times what is proposed stays a short decimal, with a period of its own.
    layers = tuple(
        layer.model_copy(update={"time_scale": round(layer.time_scale * factor, 9)}) for layer in scene.layers
    )
    return scene.model_copy(update={"layers": layers})


def _three_digits(factor: float) -> float:
    """Rounded down, so that it is no faster."""
    if factor < 1e-6:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(factor)) - 2)
    return round(math.floor(factor / step + 1e-9) * step, 12)

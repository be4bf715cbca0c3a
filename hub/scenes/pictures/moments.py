"""Which instants a moving picture shows, for how long each, and the light of each."""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from hub.scenes.lights import Linear, VenueLights
from hub.scenes.period import Window, window_of
from node_agent.limiter import RELEASE_S
from schemas import Scene

USUAL_S: Final = 10.0
LONGEST_S: Final = 60.0
_SHORTEST_LOOP_S: Final = 1.0
"""A period shorter than this is shown several times over, so that frames fall between its instants too."""
_STILL_MS: Final = 1_000
_EVEN_UP_TO_S: Final = 30.0
_GOLDEN: Final = (math.sqrt(5) - 1) / 2
_SETTLED_S: Final = 1e6
_LIMITER_FORGETS_S: Final = 5 * RELEASE_S


@dataclass(frozen=True, slots=True)
class Moments:
    """Instants of a scene, evenly spaced, and how long each is shown.

    `seamless`: the instant that would come next shows what the first does, so the picture may run in a loop.
    """

    instants_s: tuple[float, ...]
    shown_ms: tuple[int, ...]
    seamless: bool

    @property
    def step_s(self) -> float:
        return self.instants_s[1] if len(self.instants_s) > 1 else _SETTLED_S


def moments_of(window: Window, rate_hz: float, tick_ms: int, longest_s: float) -> Moments:
    """The whole window where it lasts `longest_s` at most, else its beginning, at about `rate_hz`.

    The rate gives way so that whole frames fill the window exactly. Frames are shown for multiples of `tick_ms` whose
    sum stays within a tick of the truth.
    """
    if window.length_s == 0:
        return Moments((0.0,), (_STILL_MS,), seamless=True)
    seamless = window.whole and window.length_s <= longest_s
    length_s = window.length_s if seamless else min(longest_s, window.length_s)
    if seamless:
        length_s *= math.ceil(_SHORTEST_LOOP_S / length_s)
    frames = max(round(length_s * rate_hz), 2)
    ends = [round(length_s * 1_000 * number / frames / tick_ms) * tick_ms for number in range(frames + 1)]
    return Moments(
        tuple(length_s * number / frames for number in range(frames)),
        tuple(end - start for start, end in itertools.pairwise(ends)),
        seamless,
    )


def spread(window: Window, instants: int) -> tuple[float, ...]:
    """`instants` show times over the window; one where the scene stands still.

    A long window is mostly the common multiple of short periods, which even steps would meet at one phase each time:
    there the steps are uneven, by the golden ratio.
    """
    if window.length_s == 0:
        return (0.0,)
    uneven = _GOLDEN if window.length_s > _EVEN_UP_TO_S else 0.0
    return tuple(window.length_s * (number + number * uneven % 1) / instants for number in range(instants))


def window_on(lights: VenueLights, scene: Scene) -> Window:
    """The scene's period on the zones of a venue."""
    return window_of(scene, lights.extents)


def light_at(lights: VenueLights, scene: Scene, show_s: float) -> Linear:
    """Linear light of the elevation's pixels, as it stands once the limiter has settled, shape (pixels, 3)."""
    return lights.light(lights.limit(lights.linear_of(scene, show_s), _SETTLED_S).codes)


def light_through(lights: VenueLights, scene: Scene, moments: Moments) -> Iterator[Linear]:
    """Linear light of each moment, limited in sequence as the boards do it, with the limiter's own lag.

    Of a loop the end is played first, so that its beginning finds the limiter as the end will leave it.
    """
    lights.limit(lights.linear_of(scene, moments.instants_s[0]), _SETTLED_S)
    if moments.seamless and len(moments.instants_s) > 1:
        remembered = math.ceil(_LIMITER_FORGETS_S / moments.step_s)
        before = moments.instants_s[-remembered:]
        for _ in range(math.ceil(remembered / len(before))):
            frames = (lights.limit(lights.linear_of(scene, instant_s), moments.step_s) for instant_s in before)
            if min(frame.scale.min(initial=1.0) for frame in frames) >= 1:
                break
    for instant_s in moments.instants_s:
        yield lights.light(lights.limit(lights.linear_of(scene, instant_s), moments.step_s).codes)

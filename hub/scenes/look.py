"""What nodes show from a moment on, and how it came: by a take or by a timed take, as the boards do it themselves.

The same rules as `node_agent.takes`, for all nodes that follow the same, and in the order of a whole venue's pixels.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from hub.scenes.followed import Followed
from hub.scenes.lights import Linear, VenueLights
from schemas import Scene, Shown

Rendered = Callable[[VenueLights, str | None], Linear]
"""A scene at the show time of the frame under way; what it returns is shared, and not to be written to."""
T = TypeVar("T", bound=np.generic)
_INSTANT_S: Final = 0.001  # timed takes lie at whole milliseconds


class _Source(Protocol):
    """Something to fade from."""

    def linear(self, show_s: float, rendered: Rendered) -> Linear: ...


@dataclass(frozen=True, slots=True)
class _Still:
    """A frame that stands."""

    frame: Linear

    def linear(self, show_s: float, rendered: Rendered) -> Linear:  # noqa: ARG002 it stands
        return self.frame


@dataclass(frozen=True, slots=True)
class _Moving:
    """A scene by itself."""

    lights: VenueLights
    scene: str | None

    def linear(self, show_s: float, rendered: Rendered) -> Linear:  # noqa: ARG002 the frame's own time
        return rendered(self.lights, self.scene)


@dataclass(frozen=True, slots=True)
class _Fade:
    """From a source, beginning at a show time."""

    source: _Source
    at_s: float
    length_s: float


@dataclass(slots=True)
class Look:
    """One scene of a revision on all pixels of the venue; whoever shows it takes those of its nodes."""

    followed: Followed
    lights: VenueLights
    shown: Shown
    fade: _Fade | None = None
    cut: bool = False
    """Of another scene than before, without a fade."""

    def linear(self, show_s: float, rendered: Rendered) -> Linear:
        """Shape (pixels, 3), not to be written to. `show_s` is at or after the moment."""
        frame = rendered(self.lights, self.shown.scene)
        if self.fade is None:
            return frame
        share = (show_s - self.fade.at_s) / self.fade.length_s
        if share >= 1:
            self.fade = None
            return frame
        old = self.fade.source.linear(show_s, rendered)
        mixed: Linear = old + (frame - old) * np.float32(max(share, 0.0))
        return mixed

    @property
    def scene(self) -> Scene | None:
        return None if self.shown.scene is None else self.lights.scenes[self.shown.scene]


def taken(followed: Followed, lights: VenueLights, show_s: float, before: Look | None) -> Look:
    """The look that a revision's take makes, as it stands at `show_s`; `before` showed until then."""
    shown, take = followed.shown(show_s), followed.take
    look = Look(followed, lights, shown)
    if before is not None and _goes_on(look, take.fade_ms, before):
        look.fade = before.fade
    elif shown.by is not None and shown.by.at_ms > take.at_ms:
        at_s = shown.by.at_ms / 1_000
        source = _Moving(lights, followed.shown(at_s - _INSTANT_S).scene)
        look.fade = _fade(source, at_s, shown.by.fade_ms)
        look.cut = look.fade is None
    elif take.fade_ms > 0:
        at_s = take.at_ms / 1_000
        look.fade = _fade(_source(lights, before, at_s), at_s, take.fade_ms)
    else:
        look.cut = True
    return look


def turned(before: Look, show_s: float) -> Look:
    """The look that the timed takes of its revision have made of it by `show_s`; itself where none came."""
    shown = before.followed.shown(show_s)
    if shown == before.shown:
        return before
    look = Look(before.followed, before.lights, shown)
    if shown.scene == before.shown.scene:
        look.fade = before.fade
    elif shown.by is not None and shown.by.fade_ms > 0:
        at_s = shown.by.at_ms / 1_000
        look.fade = _fade(_source(before.lights, before, at_s), at_s, shown.by.fade_ms)
    else:
        look.cut = True
    return look


def _fade(source: _Source, at_s: float, length_ms: int) -> _Fade | None:
    return _Fade(source, at_s, length_ms / 1_000) if length_ms > 0 else None


def _goes_on(look: Look, fade_ms: int, before: Look) -> bool:
    """Whether the take is of the scene that shows, and nothing is there to fade."""
    if look.shown.scene != before.shown.scene or look.scene != before.scene:
        return False
    return look.lights is before.lights or (fade_ms == 0 and _same_pixels(look.lights, before.lights))


def _same_pixels(one: VenueLights, other: VenueLights) -> bool:
    return one.joined.first_pixel == other.joined.first_pixel and one.pixels == other.pixels


def _source(lights: VenueLights, before: Look | None, at_s: float) -> _Source:
    """What showed, moving on as it fades; still where it is itself fading in, or the wiring is another."""
    if before is None:
        return _Still(np.zeros((lights.pixels, 3), dtype=np.float32))
    same = _same_pixels(lights, before.lights)
    if same and (before.fade is None or before.fade.at_s + before.fade.length_s <= at_s):
        return _Moving(before.lights, before.shown.scene)
    last = before.linear(at_s, lambda of, scene: of.linear(scene, at_s))
    return _Still(last if same else carried(last, before.lights, lights))


def carried(last: NDArray[T], before: VenueLights, lights: VenueLights) -> NDArray[T]:
    """Colours or codes of other wiring, where channel and index match; the rest is dark."""
    found = np.zeros((lights.pixels, last.shape[1]), dtype=last.dtype)
    old = before.channel_slices
    for place, new in lights.channel_slices.items():
        if place in old:
            pixels = min(old[place].stop - old[place].start, new.stop - new.start)
            found[new.start : new.start + pixels] = last[old[place].start : old[place].start + pixels]
    return found

"""What shows: a scene of a revision and, while it fades in, what showed before it, mixed in linear light.

A scene begins by a take of the hub's, with its revision, or by a timed take of the revision that shows.
"""

from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np

from node_agent.prepared import Linear, PreparedRevision
from schemas import Shown

_INSTANT_S: Final = 0.001  # timed takes lie at whole milliseconds


class _Source(Protocol):
    """Something to fade from."""

    def linear(self, show_s: float) -> Linear: ...


class _Still:
    """A frame that stands."""

    def __init__(self, frame: Linear) -> None:
        self._frame = frame

    def linear(self, show_s: float) -> Linear:  # noqa: ARG002 it stands
        return self._frame


@dataclass(frozen=True, slots=True)
class _Moving:
    """A scene by itself."""

    prepared: PreparedRevision
    scene: str | None

    def linear(self, show_s: float) -> Linear:
        return self.prepared.linear(self.scene, show_s)


@dataclass(frozen=True, slots=True)
class _Fade:
    """From a source, beginning at a show time."""

    before: _Source
    at_s: float
    length_s: float


class Look:
    """What shows from a moment on: one scene of a revision.

    `taken_s` is the show time of the revision's take, `at_s` that of the take that began the scene, where the grid of
    frames begins. `cut` where the scene is another than before and comes without a fade.
    """

    def __init__(
        self, prepared: PreparedRevision, shown: Shown, taken_s: float, fade: _Fade | None, *, cut: bool
    ) -> None:
        self.prepared = prepared
        self.shown = shown
        self.taken_s = taken_s
        self.at_s = taken_s if shown.by is None else max(taken_s, shown.by.at_ms / 1_000)
        self.cut = cut
        self._fade = fade if fade and fade.length_s > 0 else None

    @property
    def fading(self) -> bool:
        return self._fade is not None

    @property
    def fade(self) -> _Fade | None:
        """What is still under way."""
        return self._fade

    def linear(self, show_s: float) -> Linear:
        """Linear RGB, shape (pixels, 3), a new array."""
        frame = self.prepared.linear(self.shown.scene, show_s)
        if self._fade is None:
            return frame
        share = (show_s - self._fade.at_s) / self._fade.length_s
        if share >= 1:
            self._fade = None
            return frame
        before = self._fade.before.linear(show_s)
        frame -= before
        frame *= np.float32(max(share, 0.0))
        frame += before
        return frame


def taken(
    prepared: PreparedRevision,
    taken_s: float,
    fade_s: float,
    show_s: float,
    before: Look | None,
    last_frame: Linear | None,
) -> Look:
    """The look that a revision's take makes, as it stands at `show_s`.

    The same scene goes on as if nothing had been taken. Otherwise, where the pixels are the same, what showed goes on
    moving as it fades; where they are not, its last colours stand where channel and index match, and the other pixels
    rise from darkness. Where a timed take came after the take, its own fade counts.
    """
    shown = prepared.shown(show_s)
    if before and _goes_on(prepared, shown.scene, fade_s, before):
        return Look(prepared, shown, taken_s, before.fade, cut=False)
    if shown.by and shown.by.at_ms / 1_000 > taken_s:
        at_s, length_s = shown.by.at_ms / 1_000, shown.by.fade_ms / 1_000
        source: _Source = _Moving(prepared, prepared.shown(at_s - _INSTANT_S).scene)
    else:
        at_s, length_s, source = taken_s, fade_s, _source(prepared, before, last_frame)
    return Look(prepared, shown, taken_s, _Fade(source, at_s, length_s), cut=length_s == 0)


def turned(before: Look, shown: Shown, last_frame: Linear | None) -> Look:
    """The look that a timed take makes of the revision that shows.

    Where it is none, since show time was set back behind one, the scene before it shows again, without a fade.
    """
    prepared = before.prepared
    if shown.scene == before.shown.scene:
        return Look(prepared, shown, before.taken_s, before.fade, cut=False)
    at_s, length_s = (shown.by.at_ms / 1_000, shown.by.fade_ms / 1_000) if shown.by else (0.0, 0.0)
    fade = _Fade(_source(prepared, before, last_frame), at_s, length_s)
    return Look(prepared, shown, before.taken_s, fade, cut=length_s == 0)


def _goes_on(prepared: PreparedRevision, scene: str | None, fade_s: float, before: Look) -> bool:
    """Whether the take is of the scene that shows, and nothing is there to fade."""
    if not prepared.same_scene(scene, before.prepared, before.shown.scene):
        return False
    return prepared.renders_as(before.prepared) or (fade_s == 0 and _same_pixels(prepared, before.prepared))


def _same_pixels(prepared: PreparedRevision, other: PreparedRevision) -> bool:
    return dict(prepared.slices) == dict(other.slices)


def _source(prepared: PreparedRevision, before: Look | None, last_frame: Linear | None) -> _Source:
    dark = np.zeros((prepared.pixel_count, 3), dtype=np.float32, order="F")
    if before is None or last_frame is None:
        return _Still(dark)
    if _same_pixels(prepared, before.prepared):
        # A look that is itself fading in stands still, so that takes in quick succession cannot pile up.
        return _Still(last_frame) if before.fading else before
    slices = before.prepared.slices
    for number, place in prepared.slices.items():
        if old := slices.get(number):
            pixels = min(old.stop - old.start, place.stop - place.start)
            dark[place.start : place.start + pixels] = last_frame[old.start : old.start + pixels]
    return _Still(dark)

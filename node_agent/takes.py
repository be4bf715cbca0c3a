"""What shows: a revision and, while it fades in, what showed before it, mixed in linear light."""

from typing import Protocol

import numpy as np

from node_agent.prepared import Linear, PreparedRevision


class _Source(Protocol):
    """Something to fade from."""

    def linear(self, show_s: float) -> Linear: ...


class _Still:
    """A frame that stands."""

    def __init__(self, frame: Linear) -> None:
        self._frame = frame

    def linear(self, show_s: float) -> Linear:  # noqa: ARG002 it stands
        return self._frame


class Look:
    """A revision from its take on. `at_s` is the show time of the take, `fade_s` the length of its crossfade."""

    def __init__(self, prepared: PreparedRevision, at_s: float, fade_s: float, before: _Source | None) -> None:
        self.prepared = prepared
        self.at_s = at_s
        self._fade_s = fade_s
        self._before = before if fade_s > 0 else None

    @property
    def fading(self) -> bool:
        return self._before is not None

    def linear(self, show_s: float) -> Linear:
        """Linear RGB, shape (pixels, 3), a new array."""
        frame = self.prepared.linear(show_s)
        if self._before is None:
            return frame
        share = (show_s - self.at_s) / self._fade_s
        if share >= 1:
            self._before = None
            return frame
        before = self._before.linear(show_s)
        frame -= before
        frame *= np.float32(max(share, 0.0))
        frame += before
        return frame


def taken(
    prepared: PreparedRevision, at_s: float, fade_s: float, before: Look | None, last_frame: Linear | None
) -> Look:
    """The look that a take makes. Where the pixels are the same, what showed goes on moving as it fades; otherwise its
    last colours stand where channel and index match, and the other pixels rise from darkness."""
    return Look(prepared, at_s, fade_s, _source(prepared, before, last_frame))


def _source(prepared: PreparedRevision, before: Look | None, last_frame: Linear | None) -> _Source:
    dark = np.zeros((prepared.pixel_count, 3), dtype=np.float32, order="F")
    if before is None or last_frame is None:
        return _Still(dark)
    slices = before.prepared.slices
    if dict(slices) == dict(prepared.slices):
        # A look that is itself fading in stands still, so that takes in quick succession cannot pile up.
        return _Still(last_frame) if before.fading else before
    for number, place in prepared.slices.items():
        if old := slices.get(number):
            pixels = min(old.stop - old.start, place.stop - place.start)
            dark[place.start : place.start + pixels] = last_frame[old.start : old.start + pixels]
    return _Still(dark)

"""Changes found in arrays of pixels, against the rule told again pixel by pixel."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from hub.scenes.flash.changes import BT1702, WCAG, Changes, LuminanceChanges, RedChanges
from hub.scenes.flash.photometry import RED_UV, Chromaticity, chromaticity

Edge = tuple[int, int, str]


def _plain_luminance(levels: list[float], *, bt1702: bool) -> list[tuple[int, str]]:
    """One pixel: from extreme to extreme."""

    def counts(darker: float, lighter: float) -> bool:
        if darker < 0.8 - 1e-6:
            return lighter - darker >= 0.1 - 1e-6
        return bt1702 and (lighter - darker) / (lighter + darker) >= 1 / 17 - 1e-6

    edges: list[tuple[int, str]] = []
    low = high = levels[0]
    last = ""
    for frame, level in enumerate(levels):
        low, high = min(low, level), max(high, level)
        if last != "rising" and counts(low, level):
            last, high = "rising", level
            edges.append((frame, last))
        elif last != "falling" and counts(level, high):
            last, low = "falling", level
            edges.append((frame, last))
    return edges


def _plain_red(states: list[tuple[float, float, bool]]) -> list[tuple[int, str]]:
    """One pixel: (u′, v′, saturated red) frame by frame."""
    edges: list[tuple[int, str]] = []
    reddest: tuple[float, float] | None = None
    farthest: tuple[float, float] | None = None
    last = ""

    def redness(state: tuple[float, float]) -> float:
        return float(np.hypot(state[0] - RED_UV[0], state[1] - RED_UV[1]))

    def apart(one: tuple[float, float], other: tuple[float, float] | None) -> bool:
        return other is not None and float(np.hypot(one[0] - other[0], one[1] - other[1])) > 0.2

    for frame, (u, v, red) in enumerate(states):
        state = (u, v)
        if red and last != "rising" and apart(state, farthest):
            last, reddest = "rising", state
            edges.append((frame, last))
        elif not red and last != "falling" and apart(state, reddest):
            last, farthest = "falling", state
            edges.append((frame, last))
        elif red and (reddest is None or redness(state) < redness(reddest)):
            reddest = state
        elif not red and (farthest is None or redness(state) > redness(farthest)):
            farthest = state
    return edges


def _told(found: list[Changes], first_frame: int) -> set[Edge]:
    return {
        (first_frame + changes.frame, int(pixel), word)
        for changes in found
        for word, pixels in (("rising", changes.rising), ("falling", changes.falling))
        for pixel in pixels
    }


def _levels(kind: str, frames: int, pixels: int) -> NDArray[np.float32]:
    random = np.random.default_rng(7)
    if kind == "jumps":
        return (random.integers(0, 21, (frames, pixels)) / 20).astype(np.float32)
    walk = np.cumsum(random.normal(0, 0.06, (frames, pixels)), axis=0) + 0.7
    return np.abs((walk + 1) % 2 - 1).astype(np.float32)


@pytest.mark.parametrize("kind", ["jumps", "walks"])
@pytest.mark.parametrize(("threshold", "bt1702"), [(WCAG, False), (BT1702, True)])
def test_changes_of_luminance_are_those_of_the_plain_rule(kind: str, threshold: object, bt1702: bool) -> None:
    levels = _levels(kind, 300, 80)
    finder = LuminanceChanges(BT1702 if threshold is BT1702 else WCAG, 80)
    found: set[Edge] = set()
    for first in range(0, 300, 37):  # stretches of any length join without a seam
        found |= _told(list(finder.find(levels[first : first + 37])), first)
    expected = {
        (frame, pixel, word)
        for pixel in range(80)
        for frame, word in _plain_luminance(levels[:, pixel].astype(float).tolist(), bt1702=bt1702)
    }
    assert len(expected) > 500
    assert found == expected


def test_changes_to_and_from_red_are_those_of_the_plain_rule() -> None:
    random = np.random.default_rng(3)
    corners = np.array([[1, 0, 0], [0.8, 0.1, 0.1], [1, 1, 1], [0, 0, 1], [0.3, 0.05, 0.0], [0, 0, 0], [0.6, 0.5, 0]])
    planes = (corners[random.integers(0, len(corners), (240, 60))] * random.uniform(0.3, 1, (240, 60, 1))).transpose(
        2, 0, 1
    )
    seen = chromaticity(planes.astype(np.float32))
    finder = RedChanges(60)
    found: set[Edge] = set()
    for first in range(0, 240, 50):
        next_frames = slice(first, first + 50)
        part = Chromaticity(seen.u[next_frames], seen.v[next_frames], seen.red[next_frames])
        found |= _told(list(finder.find(part)), first)
    expected = {
        (frame, pixel, word)
        for pixel in range(60)
        for frame, word in _plain_red(
            list(zip(seen.u[:, pixel].tolist(), seen.v[:, pixel].tolist(), seen.red[:, pixel].tolist(), strict=True))
        )
    }
    assert len(expected) > 300
    assert found == expected


@settings(max_examples=60)
@given(st.lists(st.floats(0, 1, width=32), min_size=2, max_size=60))
def test_changes_alternate_and_a_slower_look_at_the_same_extremes_finds_as_many(levels: list[float]) -> None:
    array = np.array(levels, dtype=np.float32)[:, None]
    slow = np.concatenate([np.linspace(one, other, 9)[:-1] for one, other in itertools.pairwise(array)])
    fast_edges = sorted(_told(list(LuminanceChanges(WCAG, 1).find(array)), 0))
    slow_edges = sorted(_told(list(LuminanceChanges(WCAG, 1).find(slow.astype(np.float32))), 0))
    words = [word for _, _, word in fast_edges]
    assert all(one != other for one, other in itertools.pairwise(words))
    assert [word for _, _, word in slow_edges][: len(words)] == words[: len(slow_edges)]

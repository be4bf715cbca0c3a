"""Refuses networks that have no solution, by the field at fault."""

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from hub.electrical.network.elements import FeedWire, Ladder, Source


def check_network(sources: Sequence[Source], ladders: Sequence[Ladder]) -> None:
    """Raises ValueError that names the field, such as ladders[3].feeds[0].loop_ohm."""
    for number, source in enumerate(sources):
        _above_0(source.volts, "V", f"sources[{number}].volts")
        _at_least_0(source.output_ohm, "Ω", f"sources[{number}].output_ohm")
    for number, ladder in enumerate(ladders):
        _check_ladder(ladder, f"ladders[{number}]", len(sources))


def _check_ladder(ladder: Ladder, where: str, sources: int) -> None:
    load_a = ladder.load_a
    if load_a.ndim != 1 or load_a.size == 0:
        raise ValueError(f"{where}.load_a must hold one current for each pixel, not an array of shape {load_a.shape}")
    if not (load_a.min() >= 0 and load_a.max() < math.inf):
        pixel = int(np.flatnonzero(~((load_a >= 0) & (load_a < math.inf)))[0])
        _at_least_0(float(load_a[pixel]), "A", f"{where}.load_a[{pixel}]")
    _above_0(ladder.step_ohm, "Ω", f"{where}.step_ohm")
    _at_least_0(ladder.minimum_v, "V", f"{where}.minimum_v")
    for place, feed in enumerate(ladder.feeds):
        _check_feed(feed, f"{where}.feeds[{place}]", sources, load_a.size)
    for place, cut in enumerate(ladder.cuts):
        if not 1 <= cut < load_a.size:
            raise ValueError(f"{where}.cuts[{place}] must lie before pixel 1 to {load_a.size - 1}, not {cut}")
    for place, (before, cut) in enumerate(pairwise(ladder.cuts), start=1):
        if cut <= before:
            raise ValueError(f"{where}.cuts[{place}] must follow the cut before it, {before}, not be {cut}")


def _check_feed(feed: FeedWire, where: str, sources: int, pixels: int) -> None:
    if not 0 <= feed.source < sources:
        raise ValueError(f"{where}.source must be one of the {sources} sources, counted from 0, not {feed.source}")
    if not 0 <= feed.pixel < pixels:
        raise ValueError(f"{where}.pixel must be one of the {pixels} pixels, counted from 0, not {feed.pixel}")
    _above_0(feed.loop_ohm, "Ω", f"{where}.loop_ohm")


def _above_0(value: float, unit: str, where: str) -> None:
    if not 0 < value < math.inf:
        raise ValueError(f"{where} must be above 0 {unit}, not {value}")


def _at_least_0(value: float, unit: str, where: str) -> None:
    if not 0 <= value < math.inf:
        raise ValueError(f"{where} must be 0 {unit} or more, not {value}")

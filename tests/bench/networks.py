"""Venues of 1,000 supplies and 100,000 pixels as networks, in groups that share no supply."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from hub.electrical.network import FeedWire, Ladder, Source

SUPPLIES, PIXELS = 1_000, 100_000
STEP_OHM = 0.10 / 60
FEED_OHM = 0.05
SOURCE = Source(5.0, 0.01)
LOWEST_V = 3.5


@dataclass(frozen=True, slots=True)
class Group:
    """Supplies with every run on them."""

    sources: tuple[Source, ...]
    ladders: tuple[Ladder, ...]


def one_supply_a_run(amps: float = 0.02) -> list[Group]:
    """1,000 runs of 100 pixels, each on a supply of its own, fed at both ends."""
    return [Group((SOURCE,), (run(100, amps, (0, 0)),)) for _ in range(SUPPLIES)]


def four_supplies_a_run() -> list[Group]:
    """250 runs of 400 pixels, each on four supplies with the positive rail cut between them."""
    cut = run(400, 0.02, (0, 1, 2, 3), cuts=(100, 200, 300))
    return [Group((SOURCE,) * 4, (cut,)) for _ in range(SUPPLIES // 4)]


def paralleled() -> list[Group]:
    """1,000 runs of 100 pixels, each joining two supplies."""
    pair = (run(100, 0.02, (0, 1)), run(100, 0.01, (0, 1)))
    return [Group((SOURCE, replace(SOURCE, volts=5.05)), pair) for _ in range(SUPPLIES // 2)]


def long_run() -> list[Group]:
    """A run of 4,096 pixels on one supply, fed at eight places."""
    return [Group((SOURCE,), (run(4_096, 0.003, (0,) * 8),))]


def falling() -> list[Group]:
    """As `one_supply_a_run`, so far overloaded that most pixels are low and draw less."""
    return [
        Group(group.sources, tuple(replace(ladder, minimum_v=LOWEST_V, current_falls=True) for ladder in group.ladders))
        for group in one_supply_a_run(0.4)
    ]


def run(pixels: int, amps: float, sources: tuple[int, ...], cuts: tuple[int, ...] = ()) -> Ladder:
    """Feeds from `sources`, spread from the first pixel to the last."""
    places = np.linspace(0, pixels - 1, len(sources)).astype(int).tolist()
    feeds = tuple(FeedWire(source, place, FEED_OHM) for source, place in zip(sources, places, strict=True))
    return Ladder(np.full(pixels, amps), STEP_OHM, feeds, cuts)


def joined(groups: list[Group]) -> tuple[list[Source], list[Ladder]]:
    """All groups as one network."""
    sources = [source for group in groups for source in group.sources]
    return sources, list(_renumbered(groups))


def _renumbered(groups: list[Group]) -> Iterator[Ladder]:
    first = 0
    for group in groups:
        for ladder in group.ladders:
            feeds = tuple(replace(feed, source=first + feed.source) for feed in ladder.feeds)
            yield replace(ladder, load_a=ladder.load_a.copy(), feeds=feeds)
        first += len(group.sources)

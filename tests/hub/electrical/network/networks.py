"""Random networks: supplies with and without output resistance; runs with any feeds and cuts, plain, meshed, unfed."""

from itertools import pairwise

import numpy as np

from hub.electrical.network import FeedWire, Ladder, Source

Network = tuple[list[Source], list[Ladder]]


def random_network(seed: int, runs: int = 4, pixels: int = 40) -> Network:
    """At most `runs` runs of at most `pixels` pixels. Loads are such that the drop stays below the supplies' volts."""
    random = np.random.default_rng(seed)
    nominal_v = random.choice((5.0, 12.0, 24.0))
    sources = [
        Source(
            volts=float(nominal_v * random.uniform(0.98, 1.02)),
            output_ohm=float(random.choice((0.0, random.uniform(0.001, 0.05)))),
        )
        for _ in range(random.integers(1, 5))
    ]
    return sources, [_random_ladder(random, len(sources), pixels) for _ in range(random.integers(1, runs + 1))]


def _random_ladder(random: np.random.Generator, sources: int, most: int) -> Ladder:
    pixels = int(random.integers(1, most + 1))
    feeds = tuple(
        FeedWire(
            source=int(random.integers(sources)),
            pixel=int(random.integers(pixels)),
            loop_ohm=float(np.exp(random.uniform(np.log(0.002), np.log(0.5)))),
        )
        for _ in range(random.integers(0, 5))
    )
    cuts = sorted((1 + random.permutation(pixels - 1)[: random.integers(0, 4)]).tolist())
    step_ohm = float(np.exp(random.uniform(np.log(0.0005), np.log(0.02))))
    return Ladder(random.uniform(0, 0.02, pixels), step_ohm, feeds, tuple(cuts))


def overloaded_loops(seed: int) -> Network:
    """Runs with cuts, fed in every section by few supplies, so that negative rails close loops; most pixels are low."""
    random = np.random.default_rng(seed)
    sources = [
        Source(5.0 * float(random.uniform(0.9, 1)), float(random.choice((0.0, 0.02))))
        for _ in range(random.integers(1, 4))
    ]
    return sources, [_overloaded_ladder(random, len(sources)) for _ in range(random.integers(2, 6))]


def _overloaded_ladder(random: np.random.Generator, sources: int) -> Ladder:
    pixels = int(random.integers(6, 60))
    cuts = tuple(sorted((1 + random.permutation(pixels - 1)[: random.integers(1, 3)]).tolist()))
    feeds = tuple(
        FeedWire(int(random.integers(sources)), int(random.integers(first, end)), float(np.exp(random.uniform(-6, -1))))
        for first, end in pairwise((0, *cuts, pixels))
    )
    load_a = random.uniform(0, 0.2, pixels) * random.choice((0.1, 1.0, 3.0))
    step_ohm = float(np.exp(random.uniform(-7, -3)))
    return Ladder(load_a, step_ohm, feeds, cuts, 4.0 * float(random.uniform(0.8, 1.1)), current_falls=True)

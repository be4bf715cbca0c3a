"""Random networks: supplies with and without output resistance; runs with any feeds and cuts, plain, meshed, unfed."""

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

"""Time by amps: bins of a supply's rating, and percentiles out of them. Pure.

A bin is 0.5 % of the rating wide, up to 125 % of it; one more holds all above. A percentile lies in the bin that the
true one lies in, so it is off by at most 0.5 % of the rating (of the largest one, where the rating was changed);
above 125 % it is only known to lie between there and the highest total.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

BIN_SHARE: Final = 0.005
BINS: Final = 250
Seconds = NDArray[np.float64]  # (BINS + 1,) of one supply, or (supplies, BINS + 1)


def bin_of(amps: NDArray[np.float64], rated_a: NDArray[np.float64]) -> NDArray[np.intp]:
    """The bin of each total; the last one for all above."""
    return np.minimum(amps / (rated_a * BIN_SHARE), BINS).astype(np.intp)


def percentile_a(histograms: Sequence[tuple[float, Seconds]], share: float, highest_a: float) -> float | None:
    """Amps that the total did not exceed for `share` of the time; None where no time was counted.

    Each histogram comes with its rating, amps. Time is spread evenly over its bin.
    """
    edges = [_edges(rated_a, highest_a) for rated_a, _ in histograms]
    amps = np.unique(np.concatenate(edges)) if edges else np.zeros(0)
    spent_s = np.zeros_like(amps)
    for edge, (_, seconds) in zip(edges, histograms, strict=True):
        spent_s += np.interp(amps, edge, np.concatenate([[0.0], np.cumsum(seconds)]))
    if not spent_s.size or spent_s[-1] <= 0:
        return None
    wanted_s = share * spent_s[-1]
    above = max(1, int(np.searchsorted(spent_s, wanted_s)))
    below = above - 1
    part = (wanted_s - spent_s[below]) / (spent_s[above] - spent_s[below])
    return min(highest_a, float(amps[below] + part * (amps[above] - amps[below])))


def _edges(rated_a: float, highest_a: float) -> NDArray[np.float64]:
    edges: NDArray[np.float64] = np.arange(BINS + 2, dtype=np.float64) * (rated_a * BIN_SHARE)
    edges[-1] = max(edges[-1], highest_a)
    return edges

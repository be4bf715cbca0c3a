"""What messages tell only beside the one before: late frames a second, and how many got lost on the way. Pure."""

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hub.history.block import Figures
from hub.history.quantities import COLUMN, Quantity
from hub.history.samples import BOOT, FIRST_FIGURE, LATE, SEQUENCE, Samples, Told, samples_of

SEQUENCE_MODULUS: Final = 256
_SLOT, _AT = 0, 1
_GROWTH: Final = 1_024


class Counting:
    """Each node's last message, by slot, and how many arrived and were missed since `heard_shares` was asked."""

    def __init__(self) -> None:
        self._last = np.full((0, FIRST_FIGURE), np.nan)
        self._arrived = np.zeros(0)
        self._missed = np.zeros(0)

    def samples(self, messages: Sequence[Told]) -> Samples:
        """Messages, in the order in which they came, as samples; late frames are a second's, null after a boot."""
        table = np.array(messages, dtype=np.float64)  # None becomes NaN
        table = table[np.argsort(table[:, _SLOT], kind="stable")]
        slots = table[:, _SLOT].astype(np.intp)
        self._hold(int(slots[-1]) + 1)
        before = np.empty((len(table), FIRST_FIGURE))
        before[1:] = table[:-1, :FIRST_FIGURE]
        first = np.flatnonzero(np.diff(slots, prepend=-1))
        before[first] = self._last[slots[first]]
        same_boot = table[:, BOOT] == before[:, BOOT]
        last = np.append(first[1:], len(table)) - 1
        self._last[slots[last]] = table[last, :FIRST_FIGURE]

        missed = np.where(same_boot, (table[:, SEQUENCE] - before[:, SEQUENCE] - 1) % SEQUENCE_MODULUS, 0)
        self._missed[slots[first]] += np.add.reduceat(missed, first)
        self._arrived[slots[first]] += np.diff(np.append(first, len(table)))

        figures = table[:, FIRST_FIGURE:]
        late, lasted_s = table[:, LATE] - before[:, LATE], table[:, _AT] - before[:, _AT]
        known = same_boot & (lasted_s > 0) & (late >= 0)
        figures[:, COLUMN[Quantity.LATE_FRAMES]] = np.divide(
            late, lasted_s, out=np.full(len(table), np.nan), where=known
        )
        return samples_of(slots, table[:, _AT], figures)

    def heard_shares(self, slots: NDArray[np.intp]) -> Figures:
        """Of each node's messages the share that arrived, 0 where none did; begins to count anew."""
        self._hold(int(slots.max(initial=-1)) + 1)
        arrived, sent = self._arrived[slots], self._arrived[slots] + self._missed[slots]
        self._arrived[:] = 0
        self._missed[:] = 0
        return np.divide(arrived, sent, out=np.zeros(len(slots)), where=sent > 0)

    def _hold(self, slots: int) -> None:
        more = slots - len(self._arrived)
        if more > 0:
            more += _GROWTH
            self._last = np.vstack([self._last, np.full((more, FIRST_FIGURE), np.nan)])
            self._arrived, self._missed = (np.append(old, np.zeros(more)) for old in (self._arrived, self._missed))

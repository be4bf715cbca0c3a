"""One four-timestamp exchange (RFC 5905 §8) as a sample of show time minus the node's own clock.

With t1, t4 by the hub's show time and t2, t3 by this node's clock, the hub sees the node's clock ahead by
theta = ((t2 - t1) + (t3 - t4)) / 2 with a delay of (t4 - t1) - (t3 - t2); so show time is the node's clock minus theta,
and no asymmetry of the path can make that wrong by more than half the delay.
"""

from dataclasses import dataclass
from typing import Final

from schemas import ClockExchange

LARGEST_DELAY_S: Final = 5.0


@dataclass(frozen=True, slots=True)
class ClockSample:
    """Show time minus the node's clock, the path's delay, and when it was taken by the node's clock."""

    offset_s: float
    delay_s: float
    taken_s: float


def clock_sample(exchange: ClockExchange) -> ClockSample:
    """The sample of an exchange. Raises ValueError for stamps that no exchange can have."""
    t1, t2, t3, t4 = (ms / 1_000 for ms in (exchange.t1_ms, exchange.t2_ms, exchange.t3_ms, exchange.t4_ms))
    delay_s = (t4 - t1) - (t3 - t2)
    if t4 < t1 or t3 < t2 or not 0 <= delay_s <= LARGEST_DELAY_S:
        raise ValueError("the stamps of the exchange run backwards or lie too far apart")
    return ClockSample(offset_s=-((t2 - t1) + (t3 - t4)) / 2, delay_s=delay_s, taken_s=(t2 + t3) / 2)

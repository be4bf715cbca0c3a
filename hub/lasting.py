"""Keeps what lasts, and what waits, out of the garbage collector's way: neither is in cycles."""

import gc
from typing import Final

YOUNG_OBJECTS: Final = 20_000
YOUNG_COLLECTIONS: Final = 20


def collect_seldom() -> None:
    """Let more gather before a collection looks for cycles; once, as the hub starts.

    Thousands of messages wait now and then between two threads. Walked at every 700 new objects, as Python does unless
    told otherwise, they took a sixth of the time that telemetry costs.
    """
    gc.set_threshold(YOUNG_OBJECTS, YOUNG_COLLECTIONS, YOUNG_COLLECTIONS)


def spare_the_collector() -> None:
    """Take everything that is alive out of future collections; call it after building what lasts.

    The documents of 2,000 nodes are several hundred thousand objects without cycles. They are freed by their reference
    counts all the same, but each full collection walks them: 0.15 s on whatever thread meets it, the fleet loop's too.
    """
    gc.collect()
    gc.freeze()

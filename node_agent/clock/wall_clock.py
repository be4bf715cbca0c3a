"""Whether the system keeps its wall clock by time synchronisation (NTP, PTP), as the kernel tells."""

import ctypes
from typing import Final

_TIMEX_BYTES: Final = 1_024  # larger than struct timex on any system
_UNSYNCHRONISED: Final = 5  # TIME_ERROR in adjtimex(2)


def wall_clock_is_disciplined() -> bool:
    """adjtimex(2) with no modes set only reads. Not where nobody disciplines the clock, or none can be asked.

    The kernel takes its word back by itself: once no synchronisation was heard of for so long that the clock may be off
    by 16 s, and when somebody sets the clock by hand.
    """
    try:
        state = int(ctypes.CDLL(None).adjtimex(ctypes.create_string_buffer(_TIMEX_BYTES)))
    except (OSError, AttributeError):
        return False
    return 0 <= state < _UNSYNCHRONISED

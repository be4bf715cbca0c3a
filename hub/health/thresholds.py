"""Every threshold of the findings, in one place. Times are seconds; opening and ending differ, so that none flaps."""

from types import MappingProxyType
from typing import Final

from hub.health.kinds import FindingKind
from hub.health.rule import Hysteresis

HYSTERESIS: Final = MappingProxyType(
    {
        # A board that lost its connection for a moment comes back within a second.
        FindingKind.SILENT: Hysteresis(opens_after_s=1.0, ends_after_s=3.0),
        FindingKind.OVERLOADED: Hysteresis(opens_after_s=30.0, ends_after_s=30.0),
        FindingKind.SLOW: Hysteresis(opens_after_s=30.0, ends_after_s=30.0),
        FindingKind.BEHIND: Hysteresis(opens_after_s=15.0, ends_after_s=1.0),
        FindingKind.SKEWED: Hysteresis(opens_after_s=30.0, ends_after_s=30.0),
        # The first exchange comes within a second of the birth.
        FindingKind.CLOCK_UNTRUSTED: Hysteresis(opens_after_s=15.0, ends_after_s=1.0),
        FindingKind.CLOCKS_APART: Hysteresis(opens_after_s=30.0, ends_after_s=30.0),
    }
)

# After the hub's own link is back, boards reconnect with jitter of up to 10 s.
RECONNECT_GRACE_S: Final = 12.0
# A board that was never heard may still be on its way to the wall.
NEVER_HEARD_GRACE_S: Final = 60.0

OVER_BUDGET_SHARE: Final = 1.02
WITHIN_BUDGET_SHARE: Final = 1.00
LIMITER_AT_WORK_SCALE: Final = 0.95
LIMITER_AT_REST_SCALE: Final = 0.98

SLOW_FRAME_RATE_SHARE: Final = 0.98
LATE_FRAMES_SHARE: Final = 0.02
HEALTHY_LATE_FRAMES_SHARE: Final = 0.01

WITHIN_A_FRAME_SHARE: Final = 0.9
"""Of a frame period: below it the dispersion of a skewed node is well again."""

CLOCKS_APART_MS: Final = 1_000.0
CLOCKS_TOGETHER_MS: Final = 500.0

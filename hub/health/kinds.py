"""What can be wrong, how bad it is, what several faults can have in common."""

from enum import StrEnum


class FindingKind(StrEnum):
    """What can be wrong with a node, a supply or the fleet."""

    SILENT = "silent"
    OVERLOADED = "overloaded"
    LIMITED = "limited"
    SLOW = "slow"
    BEHIND = "behind"
    HOT = "hot"
    UNDER_VOLTED = "under-volted"
    THROTTLED = "throttled"
    RESTARTING = "restarting"
    FLAPPING = "flapping"
    SKEWED = "skewed"
    CLOCK_UNTRUSTED = "clock-untrusted"
    CLOCKS_APART = "clocks-apart"
    DISK_FULL = "disk-full"
    DISK_WORN = "disk-worn"
    MEMORY_LOW = "memory-low"
    WEAK_SIGNAL = "weak-signal"
    LOST_TELEMETRY = "lost-telemetry"
    UNKNOWN_NODE = "unknown-node"
    DOUBLE_IDENTITY = "double-identity"
    MIXED_VERSIONS = "mixed-versions"
    ERRORS_LOGGED = "errors-logged"
    HUB_OVERRUN = "hub-overrun"


class Severity(StrEnum):
    """How soon somebody must act: now, today, or when next at it."""

    ALARM = "alarm"
    WARNING = "warning"
    NOTICE = "notice"

    @property
    def rank(self) -> int:
        """Higher is worse."""
        return (Severity.NOTICE, Severity.WARNING, Severity.ALARM).index(self)


class CauseKind(StrEnum):
    """What several nodes share, so that one fault of it looks like a fault of each."""

    SUPPLY = "supply"
    SWITCH = "switch"
    ZONE = "zone"
    VENUE = "venue"


class FindingState(StrEnum):
    """Where a finding is in its life. An acknowledged one is open; a muted one is open and told to nobody."""

    OPEN = "open"
    ACKNOWLEDGED = "acknowledged"
    MUTED = "muted"
    ENDED = "ended"


class Change(StrEnum):
    """What happened to a finding, or was done to it."""

    OPENED = "opened"
    REOPENED = "reopened"
    ACKNOWLEDGED = "acknowledged"
    NOTED = "noted"
    MUTED = "muted"
    UNMUTED = "unmuted"
    FOLDED = "folded"
    UNFOLDED = "unfolded"
    ENDED = "ended"

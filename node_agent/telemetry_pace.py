"""How often telemetry goes out: at the desired interval, faster for a while when asked."""

import random
import time
from collections.abc import Callable
from typing import Final

TELEMETRY_JITTER: Final = 0.1
"""Share of the interval, either way, so that a fleet that was born together does not speak together."""


class TelemetryPace:
    """The newest request counts; none slows telemetry down."""

    def __init__(self, monotonic: Callable[[], float] = time.monotonic) -> None:
        self._monotonic = monotonic
        self._asked_s = 0.0
        self._until_s = 0.0

    def hasten(self, interval_s: float, seconds: float) -> None:
        """At least every `interval_s` for the next `seconds`."""
        self._asked_s, self._until_s = interval_s, self._monotonic() + seconds

    def interval_s(self, desired_s: float) -> float:
        """The interval that holds now."""
        return min(desired_s, self._asked_s) if self._monotonic() < self._until_s else desired_s

    def next_due_s(self, desired_s: float) -> float:
        """When the message after one sent now is due, by the monotonic clock."""
        jitter = random.uniform(1 - TELEMETRY_JITTER, 1 + TELEMETRY_JITTER)  # noqa: S311 spreads load, hides nothing
        return self._monotonic() + self.interval_s(desired_s) * jitter

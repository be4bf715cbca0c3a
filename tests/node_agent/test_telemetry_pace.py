"""Telemetry's pace: faster for a while when asked, never slower, and back by itself."""

from itertools import pairwise

import pytest

from node_agent.telemetry_pace import TELEMETRY_JITTER, TelemetryPace


class _Clock:
    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


def test_faster_telemetry_expires_by_itself() -> None:
    clock = _Clock()
    pace = TelemetryPace(clock)
    assert pace.interval_s(5.0) == 5.0
    pace.hasten(1.0, 60.0)
    assert pace.interval_s(5.0) == 1.0
    clock.now_s += 60.0
    assert pace.interval_s(5.0) == 5.0


def test_request_never_slows_telemetry_down() -> None:
    pace = TelemetryPace(_Clock())
    pace.hasten(60.0, 600.0)
    assert pace.interval_s(5.0) == 5.0


def test_messages_are_spread_around_the_interval() -> None:
    clock = _Clock()
    due = sorted(TelemetryPace(clock).next_due_s(5.0) - clock.now_s for _ in range(500))
    assert due[0] >= 5.0 * (1 - TELEMETRY_JITTER)
    assert due[-1] <= 5.0 * (1 + TELEMETRY_JITTER)
    assert max(later - earlier for earlier, later in pairwise(due)) == pytest.approx(0, abs=0.05)

"""Show time minus the node's clock as it is given out: it follows a line, smoothly or by a step.

Show time never runs backwards but by a step: small errors are slewed at `SLEW_RATE`.
"""

from typing import Final

STEP_THRESHOLD_S: Final = 0.128  # RFC 5905's STEPT: a larger error is corrected at once
FIRST_STEP_THRESHOLD_S: Final = 0.005
"""The same during the burst after the start: its first sample may be bad, and slewing would take seconds."""

SLEW_RATE: Final = 0.01  # seconds of correction per second: no eye sees a scene run 1 % fast


class Steering:
    """Times are seconds by the node's clock. `steps` counts how often show time has jumped."""

    def __init__(self, offset_s: float, now_s: float) -> None:
        self.steps = 0
        self._line_s, self._line_at_s, self._drift = offset_s, now_s, 0.0
        self._apart_s, self._apart_at_s = 0.0, now_s

    def offset_s(self, now_s: float) -> float:
        return self._line_s + self._drift * (now_s - self._line_at_s) + self.left_s(now_s)

    def left_s(self, now_s: float) -> float:
        """By how much show time is still off the line: slewing takes it to nothing."""
        gone_s = SLEW_RATE * max(0.0, now_s - self._apart_at_s)
        if gone_s >= abs(self._apart_s):
            return 0.0
        return self._apart_s - gone_s if self._apart_s > 0 else self._apart_s + gone_s

    def follow(self, offset_s: float, at_s: float, drift: float, now_s: float, step_beyond_s: float) -> None:
        """From now on the line that is at `offset_s` at `at_s` and grows by `drift`; by a step where it is far off."""
        before_s = self.offset_s(now_s)
        self._line_s, self._line_at_s, self._drift = offset_s, at_s, drift
        self._apart_s, self._apart_at_s = before_s - (offset_s + drift * (now_s - at_s)), now_s
        if abs(self._apart_s) > step_beyond_s:
            self._apart_s = 0.0
            self.steps += 1

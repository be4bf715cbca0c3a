"""How long a notice waits between attempts, and when it is given up. Pure but for the chance in it."""

import random
from typing import Final

FIRST_MS: Final = 10_000
LONGEST_MS: Final = 3_600_000
GIVEN_UP_AFTER_MS: Final = 86_400_000
"""From the first attempt on."""
SPREAD: Final = 0.25
"""Drawn apart by so much either way, so that what failed together is not tried together."""
MOST_DOUBLINGS: Final = 16


def back_off_ms(attempts: int, draw: float | None = None) -> int:
    """Milliseconds after the failure of attempt `attempts`, counted from 1; `draw` in 0..1 stands for chance."""
    nominal_ms = min(FIRST_MS << min(attempts - 1, MOST_DOUBLINGS), LONGEST_MS / (1 + SPREAD))
    chance = random.random() if draw is None else draw  # noqa: S311 (it spreads load and keeps no secret)
    return round(nominal_ms * (1 - SPREAD + 2 * SPREAD * chance))

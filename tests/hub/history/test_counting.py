"""Late frames a second and shares of messages that arrived, from one message to the next."""

import math

import numpy as np
import pytest

from hub.history.counting import Counting
from hub.history.quantities import COLUMN, Quantity
from hub.history.samples import Told, told
from tests.hub.played_node import telemetry

OTHER_BOOT = "fedcba9876543210"


def message(slot: int, at_s: float, sequence: int = 0, late: int = 0, boot: str = "0123456789abcdef") -> Told:
    return told(slot, at_s, telemetry(boot_id=boot, sequence=sequence, late_frames=late))


def late(counting: Counting, *messages: Told) -> list[float]:
    """In the order of slots, then of time."""
    found: list[float] = counting.samples(messages)["values"][:, COLUMN[Quantity.LATE_FRAMES]].tolist()
    return found


def test_late_frames_are_those_since_the_message_before_by_the_second() -> None:
    counting = Counting()
    first, second, other = late(counting, message(3, 0, late=100), message(3, 5, late=110), message(1, 5, late=7))
    assert math.isnan(first)
    assert math.isnan(second)
    assert other == 2.0
    assert late(counting, message(3, 15, late=140), message(1, 10, late=7)) == [0.0, 3.0]


def test_another_boot_and_a_clock_set_back_tell_no_late_frames() -> None:
    counting = Counting()
    late(counting, message(0, 100, late=50))
    found = late(counting, message(0, 105, late=3, boot=OTHER_BOOT), message(0, 90, late=4, boot=OTHER_BOOT))
    assert [math.isnan(value) for value in found] == [True, True]


def test_shares_of_messages_that_arrived() -> None:
    counting = Counting()
    counting.samples([message(0, 0, 254), message(0, 5, 255), message(0, 10, 1)])  # 0 got lost, past the wrap
    counting.samples([message(0, 15, 2), message(2, 0, 7)])
    shares = counting.heard_shares(np.array([0, 1, 2]))
    assert shares.tolist() == pytest.approx([4 / 5, 0.0, 1.0])
    assert counting.heard_shares(np.array([0, 1, 2])).tolist() == [0.0, 0.0, 0.0]


def test_new_boot_has_missed_nothing_before() -> None:
    counting = Counting()
    counting.samples([message(0, 0, 200)])
    counting.samples([message(0, 5, 0, boot=OTHER_BOOT)])
    assert counting.heard_shares(np.array([0])).tolist() == [1.0]


def test_figures_that_a_message_does_not_tell_are_empty() -> None:
    (sample,) = Counting().samples([told(0, 1.5, telemetry(temperature_c=None, supplies=[]))])
    assert sample["at_ms"] == 1_500
    named = {quantity: float(sample["values"][place]) for quantity, place in COLUMN.items()}
    assert (named[Quantity.FRAME_RATE], named[Quantity.RENDER_TIME]) == pytest.approx((60.0, 0.4))
    for quantity in (
        Quantity.AMPS,
        Quantity.LIMITER_SCALE,
        Quantity.TEMPERATURE,
        Quantity.MEMORY_FREE,
        Quantity.BUDGET,
    ):
        assert math.isnan(named[quantity]), quantity

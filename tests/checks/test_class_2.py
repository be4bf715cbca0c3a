"""Class 2 limits of NEC chapter 9 table 11(B), DC, inherently limited (from memory)."""

import pytest

from hub.electrical.class_2 import class_2_limit, within_class_2


@pytest.mark.parametrize(
    ("volts", "rated_w", "rated_a"), [(5.0, 25.0, 5.0), (12.0, 60.0, 5.0), (20.0, 100.0, 5.0), (24.0, 100.0, 100 / 24)]
)
def test_limits_by_volts(volts: float, rated_w: float, rated_a: float) -> None:
    limit = class_2_limit(volts)
    assert limit is not None
    assert limit.rated_w == pytest.approx(rated_w)
    assert limit.rated_a == pytest.approx(rated_a)


def test_a_flat_100_w_is_wrong_below_20_v() -> None:
    assert not within_class_2(5.0, 20.0)  # 100 W
    assert within_class_2(5.0, 5.0)
    assert not within_class_2(12.0, 100 / 12)
    assert within_class_2(24.0, 4.16)


def test_above_60_v_there_is_no_class_2() -> None:
    assert class_2_limit(60.0) is not None
    assert class_2_limit(61.0) is None
    assert not within_class_2(61.0, 0.1)

import pytest

from schemas import DesiredBody, TimedTake, next_timed_take, shown_at

OPENS, CLOSES = TimedTake(at_ms=1_000, scene="evening"), TimedTake(at_ms=2_000)
BODY = DesiredBody(telemetry_interval_s=5.0, showing="party", showing_since_ms=1_500, timetable=(OPENS, CLOSES))


@pytest.mark.parametrize(("at_ms", "scene"), [(0, "party"), (1_000, "party"), (1_999, "party"), (2_000, None)])
def test_what_was_chosen_shows_until_the_next_timed_take(at_ms: int, scene: str | None) -> None:
    assert shown_at(BODY, at_ms).scene == scene


def test_timed_takes_count_from_when_the_choice_was_made() -> None:
    earlier = BODY.model_copy(update={"showing_since_ms": 0})
    assert shown_at(earlier, 999).scene == "party"
    assert shown_at(earlier, 1_000).by == OPENS
    chosen_at_that_moment = BODY.model_copy(update={"showing_since_ms": 1_000})
    assert shown_at(chosen_at_that_moment, 1_000).scene == "party"


def test_next_take_is_the_first_that_counts() -> None:
    assert next_timed_take(BODY, 0) == CLOSES
    assert next_timed_take(BODY, 2_000) is None
    assert next_timed_take(BODY.model_copy(update={"showing_since_ms": 0}), 0) == OPENS


def test_takes_out_of_order_are_refused() -> None:
    with pytest.raises(ValueError, match="in order of time"):
        DesiredBody(telemetry_interval_s=5.0, timetable=(CLOSES, OPENS))

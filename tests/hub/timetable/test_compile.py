"""Timed takes: what is on, from when, under which precedence, and what ends a manual hold."""

import logging

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hub.errors import InvalidError
from hub.timetable import timed_takes
from hub.timetable.moments import MAX_MS
from schemas import DesiredBody, TimedTake, shown_at
from schemas.bounds import MAX_TIMED_TAKES
from tests.hub.timetable.planned import TROMSO, Entry, show_ms, takes, venue_with

EVENING: Entry = {"begins": "18:00", "ends": "23:00"}


def test_first_take_is_the_one_that_brought_what_is_on() -> None:
    venue = venue_with(EVENING)
    assert takes(venue, "2026-05-05T19:00")[0] == ("2026-05-05 18:00", "s0")
    assert takes(venue, "2026-05-05T18:00")[0] == ("2026-05-05 18:00", "s0")
    assert takes(venue, "2026-05-05T17:59")[0] == ("2026-05-04 23:00", None)


def test_takes_reach_up_to_the_midnight_after_the_days() -> None:
    found = takes(venue_with(EVENING), "2026-05-05T19:00", days=8)
    assert found[-1] == ("2026-05-13 23:00", None)
    assert len(found) == 2 * 9


def test_without_entries_there_is_nothing_to_take() -> None:
    assert takes(venue_with(), "2026-05-05T19:00") == []
    assert takes(venue_with(EVENING), "2026-05-05T19:00", left_out=frozenset({"e0"})) == []


def test_evening_of_last_year_is_what_brought_the_darkness_of_today() -> None:
    venue = venue_with({"begins": "16:00", "ends": "01:00", "dates": ["2025-12-24"]})
    assert takes(venue, "2026-11-01T12:00") == [("2025-12-25 01:00", None)]


def test_before_the_first_entry_ever_nothing_was_taken() -> None:
    venue = venue_with(EVENING | {"dates": ["2026-05-06"]})
    assert takes(venue, "2026-05-05T19:00") == [("2026-05-06 18:00", "s0"), ("2026-05-06 23:00", None)]


def test_dates_win_over_a_range_and_a_range_over_the_rest() -> None:
    dated: Entry = {"begins": "19:00", "ends": "22:00", "dates": ["2026-05-05"]}
    ranged: Entry = {"begins": "18:30", "ends": "22:30", "first_day": "2026-05-05", "last_day": "2026-05-05"}
    venue = venue_with(dated, ranged, EVENING)
    assert takes(venue, "2026-05-05T18:00", days=0) == [
        ("2026-05-05 18:00", "s2"),
        ("2026-05-05 18:30", "s1"),
        ("2026-05-05 19:00", "s0"),
        ("2026-05-05 22:00", "s1"),
        ("2026-05-05 22:30", "s2"),
        ("2026-05-05 23:00", None),
    ]


def test_of_equals_the_one_further_down_wins() -> None:
    venue = venue_with(EVENING, {"begins": "20:00", "ends": "21:00"})
    assert takes(venue, "2026-05-05T18:00", days=0)[1:3] == [("2026-05-05 20:00", "s1"), ("2026-05-05 21:00", "s0")]


def test_boundary_is_a_take_though_the_scene_is_the_same() -> None:
    venue = venue_with(EVENING | {"scene": "calm"}, {"begins": "23:00", "ends": "18:00", "scene": "calm"})
    assert [scene for _, scene in takes(venue, "2026-05-05T18:00", days=1)] == ["calm"] * 4


def test_darkness_has_the_fade_of_the_entry_that_ended() -> None:
    venue = venue_with(EVENING | {"fade_ms": 700}, {"begins": "20:00", "ends": "21:00", "fade_ms": 100})
    found = timed_takes(venue, show_ms("2026-05-05T18:00"), days=0)
    assert [take.fade_ms for take in found] == [700, 100, 700, 700]


def test_dark_entry_covers_what_lies_below() -> None:
    venue = venue_with(EVENING, {"begins": "20:00", "ends": "21:00", "scene": None})
    assert takes(venue, "2026-05-05T20:30", days=0)[0] == ("2026-05-05 20:00", None)


def test_excepted_date_is_left_out() -> None:
    venue = venue_with(EVENING | {"weekdays": ["tue", "wed"], "except_dates": ["2026-05-05"]})
    assert takes(venue, "2026-05-05T19:00", days=1)[1:] == [("2026-05-06 18:00", "s0"), ("2026-05-06 23:00", None)]


def test_rule_names_days() -> None:
    venue = venue_with(EVENING | {"rule": "FREQ=MONTHLY;BYDAY=1FR", "first_day": "2026-01-01"})
    assert [at for at, scene in takes(venue, "2026-05-03T12:00", days=40) if scene] == ["2026-06-05 18:00"]


def test_night_of_polar_winter_lasts_all_day_and_polar_summer_has_none() -> None:
    night: Entry = {"begins": "sunset", "ends": "sunrise"}
    venue = venue_with(night, zone="Europe/Oslo", place=TROMSO)
    winter = takes(venue, "2026-12-20T20:00", days=3)
    assert all(scene == "s0" for _, scene in winter)
    assert [at[11:13] for at, _ in winter] == ["11"] * 4
    assert takes(venue, "2026-06-20T20:00", days=8) == [(takes(venue, "2026-06-20T20:00", days=0)[0][0], None)]


def test_sun_without_a_place_names_the_place() -> None:
    with pytest.raises(InvalidError, match="place"):
        timed_takes(venue_with({"begins": "sunset", "ends": "23:00"}, place=None), show_ms("2026-05-05T19:00"))


@pytest.mark.parametrize("at_ms", [-1, MAX_MS, 2**53 - 1])
def test_time_that_no_calendar_covers_is_refused(at_ms: int) -> None:
    with pytest.raises(InvalidError, match="1970 to 2052"):
        timed_takes(venue_with(EVENING), at_ms)


def test_takes_from_the_first_and_to_the_last_moment_of_show_time() -> None:
    venue = venue_with({"begins": "sunset", "ends": "sunrise"})
    assert timed_takes(venue, 0)
    assert timed_takes(venue, MAX_MS - 1, days=0)


def test_more_takes_than_a_board_holds_are_cut_and_told(caplog: pytest.LogCaptureFixture) -> None:
    entries: list[Entry] = [
        {"begins": f"{n // 5:02}:{n % 5 * 12:02}", "ends": f"{n // 5:02}:{n % 5 * 12 + 6:02}"} for n in range(120)
    ]
    with caplog.at_level(logging.WARNING):
        found = timed_takes(venue_with(*entries), show_ms("2026-05-05T19:00"))
    assert len(found) == MAX_TIMED_TAKES
    assert "cut short" in caplog.text


CLOCK = st.times().map(lambda at: f"{at:%H:%M}")
ENTRIES = st.lists(
    st.fixed_dictionaries(
        {"begins": CLOCK | st.sampled_from(["sunset", "sunrise - 90 min"]), "ends": CLOCK | st.just("civil dusk")},
        optional={
            "weekdays": st.lists(st.sampled_from(["mon", "fri", "sun"]), max_size=3),
            "first_day": st.sampled_from(["2026-03-20", "2026-04-01"]),
        },
    ),
    min_size=1,
    max_size=5,
)


@settings(max_examples=60)
@given(entries=ENTRIES, hours=st.integers(0, 24 * 20), later_h=st.integers(0, 24 * 8))
def test_refresh_changes_nothing_that_shows(entries: list[Entry], hours: int, later_h: int) -> None:
    """What is compiled later is the rest of what was compiled earlier, to the millisecond, also as clocks change."""
    venue = venue_with(*entries)
    first_ms = show_ms("2026-03-20T00:00") + hours * 3_600_000
    later_ms = first_ms + later_h * 3_600_000
    earlier, later = timed_takes(venue, first_ms), timed_takes(venue, later_ms)
    horizon_ms = earlier[-1].at_ms if earlier else 0
    assert [take for take in later if take.at_ms <= horizon_ms] == [
        take for take in earlier if not later or take.at_ms >= later[0].at_ms
    ]
    assert shown_at(_body(earlier), later_ms).scene == shown_at(_body(later), later_ms).scene


def _body(timetable: tuple[TimedTake, ...]) -> DesiredBody:
    return DesiredBody(telemetry_interval_s=5, timetable=timetable)

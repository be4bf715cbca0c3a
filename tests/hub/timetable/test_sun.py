"""Solar days: the same however they are asked for, ordered, and whole at the poles and the date line."""

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hub.timetable.sun import sun_day
from schemas import Place

NOON_MS = 12 * 3_600_000
DAY_MS = 86_400_000


@settings(max_examples=10)
@given(
    latitude_deg=st.sampled_from([-90.0, -89.99, -78.2, -66.6, 66.7, 69.65, 78.2, 90.0]) | st.floats(-90, 90),
    longitude_deg=st.sampled_from([-180.0, 180.0]) | st.floats(-180, 180),
    day=st.dates(date(1970, 1, 2), date(2052, 12, 30)),
)
def test_day_is_whole_anywhere(latitude_deg: float, longitude_deg: float, day: date) -> None:
    ahead = timedelta(hours=round(longitude_deg / 15))
    place = Place(latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    today, tomorrow = sun_day(place, day, ahead), sun_day(place, day + timedelta(days=1), ahead)
    local_noon_ms = (
        (day - date(1970, 1, 1)) // timedelta(days=1) * DAY_MS + NOON_MS - round(ahead.total_seconds()) * 1_000
    )
    assert abs(today.noon_ms - local_noon_ms) < 3_600_000
    assert abs(tomorrow.noon_ms - today.noon_ms - DAY_MS) < 40_000
    for arc in (today.day, today.civil):
        assert today.noon_ms - 18 * 3_600_000 <= arc.up_ms <= today.noon_ms + 6 * 3_600_000
        assert today.noon_ms - 6 * 3_600_000 <= arc.down_ms <= today.noon_ms + 18 * 3_600_000
        if arc.comes_up and arc.goes_down:
            assert arc.up_ms < arc.down_ms
    if not today.day.goes_down and not tomorrow.day.comes_up and today.day.above_at_noon and tomorrow.day.above_at_noon:
        assert today.day.down_ms == tomorrow.day.up_ms  # one midnight: the night between has no length


@pytest.mark.parametrize(("longitude_deg", "ahead_h"), [(180.0, 0), (-157.4, 14), (16.4, 1)])
def test_every_date_has_its_own_solar_day(longitude_deg: float, ahead_h: int) -> None:
    place = Place(latitude_deg=1.9, longitude_deg=longitude_deg)
    days = [date(2026, 1, 1) + timedelta(days=count) for count in range(0, 370, 3)]
    noons = [sun_day(place, day, timedelta(hours=ahead_h)).noon_ms for day in days]
    assert all(abs(later - earlier - 3 * DAY_MS) < 120_000 for earlier, later in pairwise(noons))

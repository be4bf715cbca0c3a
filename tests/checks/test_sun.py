"""Sunrise, noon and sunset against published almanac values, and against equations published by NOAA."""

import math
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hub.timetable.sun import SunDay, sun_day
from schemas import Place

MOUNTAIN = timedelta(hours=-7)
ALASKA = timedelta(hours=-8)
LAPLAND = timedelta(hours=1)


def sun(latitude_deg: float, longitude_deg: float, day: str, ahead: timedelta = timedelta()) -> SunDay:
    place = Place(latitude_deg=latitude_deg, longitude_deg=longitude_deg)
    return sun_day(place, date.fromisoformat(day), ahead)


def clock(at_ms: int, ahead: timedelta = timedelta()) -> datetime:
    return datetime.fromtimestamp(at_ms / 1_000, timezone(ahead)).replace(tzinfo=None)


def off_s(at_ms: int, published: str, ahead: timedelta = timedelta()) -> float:
    """Seconds from a published time such as 2015-01-02T07:21:55."""
    return abs((clock(at_ms, ahead) - datetime.fromisoformat(published)).total_seconds())


# Seen in the tests of a public solar library: NREL's Solar Position Algorithm to the second, and the US Naval
# Observatory to the minute. SPA has atmosphere and semi-diameter of its own, so that 5 s are left between them.
@pytest.mark.parametrize(
    ("place", "day", "ahead", "rises", "noon", "sets"),
    [
        ((39.743, -105.178), "2015-01-02", MOUNTAIN, "07:21:55", "12:04:45", "16:47:43"),
        ((-35.0, 0.0), "1996-07-05", timedelta(), "07:08:15", "12:04:36", "17:01:04"),
        ((-35.0, 0.0), "2004-12-04", timedelta(), "04:38:57", "11:50:22", "19:02:03"),
        # Seen on the almanac page of the documentation of skyfield.
        ((40.8939, -83.8917), "2018-09-12", timedelta(), "11:13:12", None, "23:49:38"),
    ],
)
def test_almanac_times_within_five_seconds(
    place: tuple[float, float], day: str, ahead: timedelta, rises: str, noon: str | None, sets: str
) -> None:
    found = sun(*place, day, ahead)
    assert found.day.comes_up
    assert found.day.goes_down
    assert off_s(found.day.up_ms, f"{day}T{rises}", ahead) <= 5
    assert off_s(found.day.down_ms, f"{day}T{sets}", ahead) <= 5
    assert noon is None or off_s(found.noon_ms, f"{day}T{noon}", ahead) <= 5


def test_naval_observatory_to_the_minute() -> None:
    found = sun(39.743, -105.178, "2015-01-02", MOUNTAIN)
    rounded = [clock(at_ms + 30_000, MOUNTAIN).strftime("%H:%M") for at_ms in (found.day.up_ms, found.noon_ms)]
    assert [*rounded, clock(found.day.down_ms + 30_000, MOUNTAIN).strftime("%H:%M")] == ["07:22", "12:05", "16:48"]


def test_midsummer_sun_of_the_far_north_never_sets() -> None:
    # Seen on the same page: Utqiagvik, Alaska, 2023-06-21.
    found = sun(71.2906, -156.7886, "2023-06-21", ALASKA).day
    assert (found.comes_up, found.goes_down, found.above_at_noon) == (False, False, True)


def test_midwinter_sun_of_lapland_stays_below() -> None:
    # Seen on the same page: 67.4066 N 20.0997 E rises on 2022-12-19 at 10:29:21 UT, and not on 20 to 23 December.
    assert off_s(sun(67.4066, 20.0997, "2022-12-19", LAPLAND).day.up_ms, "2022-12-19T10:29:21") <= 2
    for day in range(20, 24):
        found = sun(67.4066, 20.0997, f"2022-12-{day}", LAPLAND).day
        assert (found.comes_up, found.goes_down, found.above_at_noon) == (False, False, False)
        assert found.up_ms == found.down_ms


def noaa_event(
    latitude_deg: float, longitude_deg: float, near: datetime, zenith_deg: float, *, rises: bool
) -> datetime:
    """By the equations of NOAA's solar calculator (after Meeus, Astronomical Algorithms), from memory; it states
    ±1 min within ±72° of latitude. Declination and equation of time are taken at the event, by repetition."""
    at = near
    for _ in range(4):
        century = ((at - datetime(2000, 1, 1, 12, tzinfo=UTC)).total_seconds() / 86_400) / 36_525
        mean_long = math.radians((280.46646 + century * (36_000.76983 + century * 0.0003032)) % 360)
        anomaly = math.radians(357.52911 + century * (35_999.05029 - 0.0001537 * century))
        eccentricity = 0.016708634 - century * (0.000042037 + 0.0000001267 * century)
        centre_deg = (
            math.sin(anomaly) * (1.914602 - century * (0.004817 + 0.000014 * century))
            + math.sin(2 * anomaly) * (0.019993 - 0.000101 * century)
            + math.sin(3 * anomaly) * 0.000289
        )
        node = math.radians(125.04 - 1934.136 * century)
        apparent = mean_long + math.radians(centre_deg - 0.00569 - 0.00478 * math.sin(node))
        seconds = 21.448 - century * (46.815 + century * (0.00059 - century * 0.001813))
        tilt = math.radians(23 + (26 + seconds / 60) / 60 + 0.00256 * math.cos(node))
        declination = math.asin(math.sin(tilt) * math.sin(apparent))
        y = math.tan(tilt / 2) ** 2
        time_min = 4 * math.degrees(
            y * math.sin(2 * mean_long)
            - 2 * eccentricity * math.sin(anomaly)
            + 4 * eccentricity * y * math.sin(anomaly) * math.cos(2 * mean_long)
            - 0.5 * y * y * math.sin(4 * mean_long)
            - 1.25 * eccentricity * eccentricity * math.sin(2 * anomaly)
        )
        latitude = math.radians(latitude_deg)
        cosine = math.cos(math.radians(zenith_deg)) / (math.cos(latitude) * math.cos(declination)) - math.tan(
            latitude
        ) * math.tan(declination)
        angle_deg = math.degrees(math.acos(cosine))
        minutes = 720 - 4 * (longitude_deg + (angle_deg if rises else -angle_deg)) - time_min
        at = near.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(minutes=minutes)
    return at


@settings(max_examples=25)
@given(
    latitude_deg=st.floats(-55, 55),
    longitude_deg=st.floats(-179, 179),
    day=st.dates(date(1990, 1, 1), date(2050, 12, 31)),
)
def test_noaa_equations_within_a_minute_anywhere_in_any_season(
    latitude_deg: float, longitude_deg: float, day: date
) -> None:
    ahead = timedelta(hours=round(longitude_deg / 15))
    found = sun_day(Place(latitude_deg=latitude_deg, longitude_deg=longitude_deg), day, ahead)
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    for at_ms, zenith_deg, rises in (
        (found.day.up_ms, 90.833, True),
        (found.day.down_ms, 90.833, False),
        (found.civil.up_ms, 96.0, True),
        (found.civil.down_ms, 96.0, False),
    ):
        told = noaa_event(latitude_deg, longitude_deg, noon, zenith_deg, rises=rises)
        assert abs(at_ms / 1_000 - told.timestamp()) < 60

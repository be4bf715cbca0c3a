"""Sunrise, sunset and civil twilight of solar days at a place, from skyfield and its packaged ephemeris.

The sun's centre stands at -50 minutes of arc at sunrise and sunset, which allows for mean refraction and its
semi-diameter, and at -6 degrees at civil dawn and dusk (definitions of the US Naval Observatory's almanac). Hills and
houses are not known: the horizon is flat.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from importlib.resources import files
from typing import Any, Final

import numpy as np

from schemas.timetable import Place

FIRST_YEAR, LAST_YEAR = 1970, 2052
"""Years that the ephemeris DE421 covers in full, 1900 to 2052, from the beginning of show time on."""

_BLOCK_DAYS: Final = 32
_DAY_S: Final = 86_400
_NOON_S: Final = _DAY_S // 2
_QUARTER_S: Final = _DAY_S // 4
_S_PER_DEG: Final = 240
_EPOCH: Final = date(1970, 1, 1).toordinal()
_BLOCKS_KEPT: Final = 512
_HORIZON_DEG: Final = -50 / 60
_TWILIGHT_DEG: Final = -6.0


@dataclass(frozen=True, slots=True)
class Arc:
    """The sun and a height on one solar day: show time ms at which it comes up to it and goes down below it.

    A moment that the day does not have stands for one that it has: where the sun stays below, its highest; otherwise
    its lowest, before noon for coming up and after noon for going down.
    """

    up_ms: int
    down_ms: int
    comes_up: bool
    goes_down: bool
    above_at_noon: bool


@dataclass(frozen=True, slots=True)
class SunDay:
    """The sun from one midnight to the next, as the sun has it."""

    noon_ms: int
    day: Arc
    """Sunrise and sunset."""
    civil: Arc
    """Civil dawn and civil dusk."""


def sun_day(place: Place, day: date, utc_offset: timedelta) -> SunDay:
    """The sun on a local date: the solar day whose noon is nearest to noon by clocks `utc_offset` ahead of UTC.

    From FIRST_YEAR to LAST_YEAR.
    """
    ahead_of_sun_days = utc_offset.total_seconds() / _DAY_S - place.longitude_deg / 360
    number = day.toordinal() - round(ahead_of_sun_days)
    # Always in the same blocks: the same day must come out to the second the same, whatever it was asked with.
    return _block(place, number // _BLOCK_DAYS)[number % _BLOCK_DAYS]


@lru_cache(maxsize=_BLOCKS_KEPT)
def _block(place: Place, block: int) -> tuple[SunDay, ...]:
    """Solar days `block * 32` onwards, numbered by mean solar date: days since 0001-01-01 as in `date.toordinal`."""
    numbers = range(block * _BLOCK_DAYS, (block + 1) * _BLOCK_DAYS)
    sky = _Sky(place, numbers)
    noons = sky.noons_s()
    arcs = [sky.arcs(noons, height_deg) for height_deg in (_HORIZON_DEG, _TWILIGHT_DEG)]
    return tuple(SunDay(_ms(noons[number]), arcs[0][number], arcs[1][number]) for number in numbers)


class _Sky:
    """Events of the sun around some solar days, as seconds since 1970 by the number of their day."""

    def __init__(self, place: Place, numbers: range) -> None:
        from skyfield import api  # not at the top: it is heavy, and most commands need no sun

        self._numbers = numbers
        self._longitude_s = place.longitude_deg * _S_PER_DEG
        self._timescale, ephemeris = _loaded()
        self._sun = ephemeris["sun"]
        self._observer = ephemeris["earth"] + api.wgs84.latlon(place.latitude_deg, place.longitude_deg)
        first_s, last_s = self._mean_noon_s(numbers[0]), self._mean_noon_s(numbers[-1])
        margin = timedelta(days=2)
        self._from = self._time(first_s) - margin
        self._to = self._time(last_s) + margin

    def noons_s(self) -> dict[int, float]:
        """Transits of each day, of the day before and of the day after."""
        from skyfield import almanac

        with np.errstate(all="ignore"):
            times = almanac.find_transits(self._observer, self._sun, self._from, self._to)
        return {self._number_of(at_s, _NOON_S): at_s for at_s in _unix_s(times)}

    def arcs(self, noons_s: dict[int, float], height_deg: float) -> dict[int, Arc]:
        from skyfield import almanac

        # An event near the noon or midnight of a day may fall a little before or after it: a quarter of a day is room.
        with np.errstate(all="ignore"):
            ups = self._events(almanac.find_risings, height_deg, _NOON_S + _QUARTER_S)
            downs = self._events(almanac.find_settings, height_deg, _QUARTER_S)
            at_noon = self._timescale.from_datetimes(
                [datetime.fromtimestamp(noons_s[number], UTC) for number in self._numbers]
            )
            highest_deg = self._observer.at(at_noon).observe(self._sun).apparent().altaz()[0].degrees
        return {
            number: _arc(noons_s, number, ups.get(number), downs.get(number), above_at_noon=bool(highest >= height_deg))
            for number, highest in zip(self._numbers, highest_deg, strict=True)
        }

    def _events(self, find: Any, height_deg: float, before_noon_s: int) -> dict[int, float]:  # noqa: ANN401
        times, truly = find(self._observer, self._sun, self._from, self._to, height_deg)
        return {self._number_of(at_s, before_noon_s): at_s for at_s in _unix_s(times[truly & np.isfinite(times.tt)])}

    def _mean_noon_s(self, number: int) -> float:
        return (number - _EPOCH) * _DAY_S + _NOON_S - self._longitude_s

    def _number_of(self, at_s: float, before_noon_s: int) -> int:
        """The day that an event belongs to, if its days begin so long before the mean noon."""
        return int((at_s + before_noon_s - self._mean_noon_s(0)) // _DAY_S)

    def _time(self, at_s: float) -> Any:  # noqa: ANN401 (skyfield publishes no types)
        return self._timescale.from_datetime(datetime.fromtimestamp(at_s, UTC))


def _arc(
    noons_s: dict[int, float], number: int, up_s: float | None, down_s: float | None, *, above_at_noon: bool
) -> Arc:
    noon_s = noons_s[number]
    midnights_s = ((noons_s[number - 1] + noon_s) / 2, (noon_s + noons_s[number + 1]) / 2)
    stands_for_s = midnights_s if above_at_noon else (noon_s, noon_s)
    return Arc(
        _ms(stands_for_s[0] if up_s is None else up_s),
        _ms(stands_for_s[1] if down_s is None else down_s),
        up_s is not None,
        down_s is not None,
        above_at_noon,
    )


@lru_cache(maxsize=1)
def _loaded() -> tuple[Any, Any]:
    """Skyfield's timescale and ephemeris."""
    from skyfield import api

    # By path: the package's own function warns once its table of the Earth's rotation, which is not read here, is old.
    path = files("skyfield_data") / "data" / "de421.bsp"
    return api.load.timescale(builtin=True), api.load_file(str(path))


def _unix_s(times: Any) -> list[float]:  # noqa: ANN401
    return [at.timestamp() for at in times.utc_datetime()]


def _ms(at_s: float) -> int:
    """Whole seconds: more would pretend to an exactness that weather and horizon do not leave."""
    return round(at_s) * 1_000

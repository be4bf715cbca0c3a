"""Small venues with a timetable, and what it takes by the clock on the wall."""

import json
from datetime import datetime
from zoneinfo import ZoneInfo

from hub.timetable import timed_takes
from schemas import Venue

VIENNA = (48.2, 16.37)
TROMSO = (69.65, 18.96)

Entry = dict[str, object]


def venue_with(*entries: Entry, zone: str = "Europe/Vienna", place: tuple[float, float] | None = VIENNA) -> Venue:
    """A venue with these entries; each has an id and a scene of its own name where it says nothing else."""
    timetable = [{"id": f"e{number}", "scene": f"s{number}"} | entry for number, entry in enumerate(entries)]
    venue: Entry = {"id": "arcade", "title": "Arcade (invented)", "time_zone": zone, "timetable": timetable}
    if place is not None:
        venue["place"] = {"latitude_deg": place[0], "longitude_deg": place[1]}
    return Venue.model_validate_json(json.dumps(venue))


def show_ms(local: str, zone: str = "Europe/Vienna") -> int:
    """Show time of a local time such as 2026-03-27T20:10."""
    return round(datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(zone)).timestamp() * 1_000)


def local(at_ms: int, zone: str = "Europe/Vienna") -> str:
    return datetime.fromtimestamp(at_ms / 1_000, ZoneInfo(zone)).isoformat(" ")


def takes(venue: Venue, at: str, days: int = 1, left_out: frozenset[str] = frozenset()) -> list[tuple[str, str | None]]:
    """(local time, scene) of each timed take as compiled at a local time."""
    zone = venue.time_zone
    found = timed_takes(venue, show_ms(at, zone), days, left_out)
    return [(local(take.at_ms, zone)[:16], take.scene) for take in found]

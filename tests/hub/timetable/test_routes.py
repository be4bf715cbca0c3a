"""The timetable over HTTP, on a running hub: replaced under its ETag, rolled out to boards, explained, exported."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import httpx
import pytest
from icalendar import Calendar

from tests.hub.live_hub import LiveHub
from tests.hub.timetable.planned import Entry, show_ms
from tests.processes import wait_until

ALWAYS: Entry = {"id": "always", "scene": "dusk", "begins": "00:00", "ends": "00:00", "fade_ms": 0}
EVENING: Entry = {"id": "evening", "scene": "full-white", "begins": "sunset", "ends": "23:00", "weekdays": ["fri"]}
HELD: Entry = {"flash_confirmed_by": "A. Warden (invented)"}


def put(live: LiveHub, *entries: Entry, etag: str | None = None) -> httpx.Response:
    etag = live.call("GET", "/timetable").headers["ETag"] if etag is None else etag
    return live.call("PUT", "/timetable", json={"entries": entries}, headers={"If-Match": etag})


def why(live: LiveHub, **query: int) -> dict[str, Any]:
    answer = live.call("GET", "/timetable/why", params=query)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def this_month() -> str:
    return f"{datetime.now(ZoneInfo('Europe/Vienna')):%Y-%m}"


def mistakes(answer: httpx.Response) -> list[tuple[str, str]]:
    assert answer.status_code == 422, answer.text
    return [(one["field"], one["reason"]) for one in answer.json()["mistakes"]]


def test_put_is_read_again_and_an_old_etag_is_stale(live: LiveHub) -> None:
    before = live.call("GET", "/timetable").headers["ETag"]
    answer = put(live, ALWAYS | HELD)
    assert answer.status_code == 200, answer.text
    read = live.call("GET", "/timetable")
    assert read.json() == answer.json()
    assert read.headers["ETag"] == answer.headers["ETag"]
    assert read.json()["entries"][0]["begins"] == "00:00"
    assert put(live, etag=before).status_code == 412
    assert live.call("PUT", "/timetable", json={"entries": []}).status_code == 428


@pytest.mark.parametrize(
    ("entry", "field", "word"),
    [
        ({"scene": "dsk"}, "body.entries[1].scene", "dsk"),
        ({"begins": "25:00"}, "body.entries[1].begins", "25:00"),
        ({"rule": "FREQ=HOURLY", "weekdays": [], "first_day": "2031-05-01"}, "body.entries[1].rule", "HOURLY"),
        ({"id": "always"}, "body.entries[1].id", "always"),
        ({"dates": ["2031-02-30"], "weekdays": []}, "body.entries[1].dates[0]", "2031-02-30"),
        ({"colour": "red"}, "body.entries[1].colour", "colour"),
    ],
)
def test_mistake_names_the_field_as_it_was_sent_and_changes_nothing(
    live: LiveHub, entry: Entry, field: str, word: str
) -> None:
    before = live.call("GET", "/timetable").json()
    found = mistakes(put(live, ALWAYS | HELD, EVENING | entry))
    assert [one for one, _ in found] == [field]
    assert word in f"{field} {found[0][1]}"
    assert live.call("GET", "/timetable").json() == before


def test_boards_get_the_takes_and_why_tells_what_they_show(live: LiveHub) -> None:
    assert put(live, ALWAYS | HELD).status_code == 200

    def has_takes() -> bool:
        choices = live.hub.rollouts.choices("arcade")
        return choices is not None and len(choices.timetable) >= 8

    wait_until(has_takes, 20.0, "the timetable to be in force")
    live.wait_until_free()
    live.outcome(live.call("POST", "/takes", json={"scene": "full-white", "fade_ms": 0}).json()["revision"])
    held = why(live)
    assert (held["scene"], held["scene_title"], held["source"]) == ("full-white", "Full white", "hold")
    assert (held["timetable_says"]["entry"], held["next"]["entry"]) == ("always", "always")
    assert held["next"]["at"]["local"][11:19] == "00:00:00"
    later = why(live, at_ms=held["next"]["at"]["at_ms"])
    assert (later["scene"], later["source"]) == ("dusk", "timetable")
    assert not any("another timetable" in sentence for sentence in later["told"])


def test_entry_counts_once_its_scene_is_checked_for_flashes(live: LiveHub) -> None:
    assert put(live, EVENING | {"begins": "00:00", "ends": "00:00", "weekdays": []}).status_code == 200
    wait_until(lambda: not why(live)["left_out"], 60.0, "the flash check of the scene")
    assert why(live)["timetable_says"]["scene"] == "full-white"


def test_month_tells_sun_and_spells(live: LiveHub) -> None:
    assert put(live, EVENING | HELD).status_code == 200
    month = live.call("GET", "/timetable/month", params={"month": "2031-05"}).json()
    assert (month["month"], month["time_zone"], len(month["days"])) == ("2031-05", "Europe/Vienna", 31)
    friday = month["days"][1]
    assert friday["day"] == "2031-05-02"
    assert friday["spells"][0]["begins"] == friday["sun"]["sunset"]
    assert friday["spells"][0]["ends"]["at_ms"] == show_ms("2031-05-02T23:00")
    before, present, after = this_month(), live.call("GET", "/timetable/month").json(), this_month()
    assert present["month"] in (before, after)


def test_calendar_file_is_read_back(live: LiveHub) -> None:
    assert put(live, EVENING | HELD).status_code == 200
    answer = live.call("GET", "/timetable.ics", params={"days": 30})
    assert answer.headers["Content-Type"].startswith("text/calendar")
    assert 'filename="arcade-timetable.ics"' in answer.headers["Content-Disposition"]
    events = Calendar.from_ical(answer.content).events
    assert 4 <= len(events) <= 5
    assert {str(event["SUMMARY"]) for event in events} == {"Full white"}


@pytest.mark.parametrize(
    ("path", "query", "field"),
    [
        ("/timetable/why", {"at_ms": -1}, "query.at_ms"),
        ("/timetable/why", {"at_ms": 2**53}, "query.at_ms"),
        ("/timetable/why", {"at": 5}, "query.at"),
        ("/timetable/month", {"month": "2031-13"}, "query.month"),
        ("/timetable/month", {"month": "2054-01"}, "query.month"),
        ("/timetable.ics", {"days": 0}, "query.days"),
        ("/timetable.ics", {"days": 100_000}, "query.days"),
    ],
)
def test_bad_queries_are_named(live: LiveHub, path: str, query: dict[str, Any], field: str) -> None:
    assert [one for one, _ in mistakes(live.call("GET", path, params=query))] == [field]


@pytest.mark.parametrize("path", ["timetable", "timetable/why", "timetable/month", "timetable.ics"])
def test_unknown_venue_is_not_found(live: LiveHub, path: str) -> None:
    with live.client() as client:
        assert client.get(f"/api/v1/venues/nowhere/{path}").status_code == 404

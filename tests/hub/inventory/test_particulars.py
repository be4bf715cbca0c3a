"""Place, time zone and tags are set by call; what the timetable needs cannot be taken away."""

import httpx

from schemas.timetable import CueList, Place, TimetableEntry
from schemas.venue import Venue
from tests.hub.edge import Edge
from tests.hub.venue_file.venues import changed

KIOSK = "/api/v1/venues/kiosk"
PARTICULARS = f"{KIOSK}/particulars"
EVENINGS = TimetableEntry(id="evenings", scene="evening", begins="sunset", ends="23:00")


def test_place_and_time_zone_are_read_and_set_and_nothing_else_changes(
    client: httpx.Client, edge: Edge, kiosk: Venue
) -> None:
    read = client.get(PARTICULARS)
    assert (read.json()["time_zone"], read.json()["place"]) == ("UTC", None)
    wanted = read.json() | {"time_zone": "Europe/Vienna", "place": {"latitude_deg": 48.2, "longitude_deg": 16.4}}
    assert client.put(PARTICULARS, json=wanted).status_code == 428
    put = client.put(PARTICULARS, json=wanted, headers={"If-Match": read.headers["etag"]})
    assert (put.status_code, put.json()) == (200, wanted)
    assert client.put(PARTICULARS, json=wanted, headers={"If-Match": read.headers["etag"]}).status_code == 412
    place = Place(latitude_deg=48.2, longitude_deg=16.4)
    assert edge.inventory.venue("kiosk") == kiosk.model_copy(update={"time_zone": "Europe/Vienna", "place": place})
    assert client.get("/api/v1/venues/none/particulars").status_code == 404


def test_mistake_of_a_particular_is_told_by_its_field(client: httpx.Client) -> None:
    read = client.get(PARTICULARS)
    wanted = read.json() | {"time_zone": "Europe/Viena"}
    refused = client.put(PARTICULARS, json=wanted, headers={"If-Match": read.headers["etag"]})
    (mistake,) = refused.json()["mistakes"]
    assert (refused.status_code, mistake["field"]) == (422, "body.time_zone")
    assert mistake["remedy"] == "did you mean 'Europe/Vienna'?"


def test_place_that_the_timetable_needs_cannot_be_taken_away(client: httpx.Client, edge: Edge, kiosk: Venue) -> None:
    place = Place(latitude_deg=48.2, longitude_deg=16.4)
    edge.inventory.load(changed(kiosk, place=place, timetable=(EVENINGS,)))
    read = client.get(PARTICULARS)
    refused = client.put(PARTICULARS, json=read.json() | {"place": None}, headers={"If-Match": read.headers["etag"]})
    assert (refused.status_code, refused.json()["mistakes"][0]["field"]) == (422, "timetable[0].begins")


def test_scene_of_an_entry_or_a_cue_cannot_be_removed(client: httpx.Client, edge: Edge, kiosk: Venue) -> None:
    cue_list = CueList.model_validate(
        {"id": "opening", "title": "Opening", "cues": ({"id": "doors", "scene": "evening"},)}
    )
    entry = changed(EVENINGS, begins="18:00")
    edge.inventory.load(changed(kiosk, opening_scene=None, timetable=(entry,), cue_lists=(cue_list,)))
    scene = client.get(f"{KIOSK}/scenes/evening")
    refused = client.delete(f"{KIOSK}/scenes/evening", headers={"If-Match": scene.headers["etag"]})
    assert refused.status_code == 422
    fields = [mistake["field"] for mistake in refused.json()["mistakes"]]
    assert fields == ["timetable[0].scene", "cue_lists[0].cues[0].scene"]


def test_nodes_are_found_by_a_tag(client: httpx.Client) -> None:
    node = client.get(f"{KIOSK}/nodes/front")
    body = node.json() | {"tags": ["upstairs", "window"]}
    assert client.put(f"{KIOSK}/nodes/front", json=body, headers={"If-Match": node.headers["etag"]}).status_code == 200

    def found(tag: str) -> list[str]:
        return [one["id"] for one in client.get(f"{KIOSK}/nodes", params={"tag": tag}).json()["items"]]

    assert (found("upstairs"), found("stairs"), found("window")) == (["front"], [], ["front"])

"""REST of the inventory, as a caller sees it."""

import json
from typing import Any

import httpx
import pytest

from hub.venue_file import read_venue, write_venue
from schemas.pixel_catalogue import PIXEL_CATALOGUE
from schemas.venue import Venue
from tests.hub.edge import Edge
from tests.hub.venue_file.venues import changed

KIOSK = "/api/v1/venues/kiosk"
YAML = {"Content-Type": "application/yaml"}
ITEMS = {"supplies": "psu-5v", "nodes": "front", "zones": "sill", "scenes": "evening", "pixel-types": "rgb-5v-own"}


def ids(response: httpx.Response) -> list[str]:
    assert response.status_code == 200, response.text
    return [item.get("id") or item["key"] for item in response.json()["items"]]


def test_venue_is_read_with_its_etag_and_not_sent_twice(client: httpx.Client, kiosk: Venue) -> None:
    response = client.get(KIOSK)
    assert Venue.model_validate_json(response.content) == kiosk
    again = client.get(KIOSK, headers={"If-None-Match": response.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert client.get(KIOSK, headers={"If-None-Match": '"other"'}).status_code == 200


def test_venues_are_listed_with_their_size(client: httpx.Client) -> None:
    (found,) = [one for one in client.get("/api/v1/venues").json()["items"] if one["id"] == "kiosk"]
    sizes = {"nodes": 1, "channels": 2, "pixels": 50, "supplies": 2, "zones": 3, "scenes": 1}
    assert found == {"id": "kiosk", "title": "Kiosk"} | sizes


def test_export_loads_as_the_same_venue(client: httpx.Client, kiosk: Venue) -> None:
    response = client.get(f"{KIOSK}/export")
    assert response.headers["content-type"] == "application/yaml"
    assert 'filename="kiosk.yaml"' in response.headers["content-disposition"]
    assert read_venue(response.content) == kiosk


@pytest.mark.parametrize("as_json", [False, True])
def test_new_venue_is_created_once(client: httpx.Client, kiosk: Venue, as_json: bool) -> None:
    venue = changed(kiosk, id=f"new-{as_json}".lower())
    body = venue.model_dump_json() if as_json else write_venue(venue)
    headers = {"Content-Type": "application/json" if as_json else "application/yaml", "If-None-Match": "*"}
    address = f"/api/v1/venues/{venue.id}"
    created = client.put(address, content=body, headers=headers)
    assert (created.status_code, created.json()["done"]) == (201, True)
    assert created.headers["etag"] == client.get(address).headers["etag"]
    assert client.put(address, content=body, headers=headers).status_code == 412


def test_dry_run_tells_the_changes_and_makes_none(client: httpx.Client, kiosk: Venue) -> None:
    body = write_venue(changed(kiosk, title="Other"))
    response = client.put(KIOSK, params={"dry_run": True}, content=body, headers=YAML)
    assert response.json() == {
        "done": False,
        "changes": [
            {
                "kind": "changed",
                "noun": "venue",
                "id": "kiosk",
                "fields": [{"field": "title", "before": "Kiosk", "after": "Other"}],
            }
        ],
    }
    assert client.get(KIOSK).json()["title"] == "Kiosk"


def test_load_over_what_someone_changed_is_refused(client: httpx.Client, kiosk: Venue) -> None:
    etag = client.get(KIOSK).headers["etag"]
    body = write_venue(changed(kiosk, title="Other"))
    assert client.put(KIOSK, content=body, headers=YAML | {"If-Match": etag}).status_code == 200
    assert client.put(KIOSK, content=body, headers=YAML | {"If-Match": etag}).status_code == 412
    assert client.put(KIOSK, content=body, headers=YAML).status_code == 428


def test_load_with_mistakes_is_refused_with_all_their_lines(client: httpx.Client, kiosk: Venue) -> None:
    body = write_venue(kiosk).replace("supply: psu-12v", "supply: psu-21v").replace("zone: whole", "zone: hole")
    response = client.put(KIOSK, content=body, headers=YAML | {"If-Match": "*"})
    assert response.status_code == 422
    lines = body.splitlines()
    told = {lines[mistake["line"] - 1].strip() for mistake in response.json()["mistakes"]}
    assert len(told) == 2
    assert any("psu-21v" in line for line in told)
    assert any("hole" in line for line in told)


def test_address_and_file_must_name_the_same_venue(client: httpx.Client, kiosk: Venue) -> None:
    response = client.put("/api/v1/venues/other", content=write_venue(kiosk), headers=YAML | {"If-None-Match": "*"})
    assert (response.status_code, response.json()["mistakes"][0]["field"]) == (422, "body.id")


def test_check_tells_mistakes_and_stores_nothing(client: httpx.Client, kiosk: Venue) -> None:
    body = write_venue(changed(kiosk, id="checked"))
    good = client.post("/api/v1/venues/check", content=body, headers=YAML)
    assert (good.status_code, good.json()) == (200, {"mistakes": []})
    bad = client.post("/api/v1/venues/check", content=body.replace("zone: whole", "zone: hole"), headers=YAML)
    assert [mistake["field"] for mistake in bad.json()["mistakes"]] == ["scenes[0].layers[0].zone"]
    assert client.get("/api/v1/venues/checked").status_code == 404


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        ("supplies", ["psu-5v", "psu-12v"]),
        ("supplies?volts=12", ["psu-12v"]),
        ("supplies?text=5V", ["psu-5v"]),
        ("supplies?text=%25", []),
        ("supplies?node=front", ["psu-5v", "psu-12v"]),
        ("supplies?node=front&volts=5", ["psu-5v"]),
        ("nodes", ["front"]),
        ("nodes?supply=psu-12v", ["front"]),
        ("nodes?zone=whole", ["front"]),
        ("nodes?zone=lintel&text=ron", ["front"]),
        ("nodes?text=nothing", []),
        ("zones?node=front", ["sill", "lintel"]),
        ("zones?text=wh", ["whole"]),
        ("scenes?zone=lintel", ["evening"]),
        ("scenes?text=EVEN", ["evening"]),
        ("pixel-types", ["rgb-5v-own"]),
    ],
)
def test_lists_hold_what_was_asked_for_in_the_order_of_the_file(
    client: httpx.Client, query: str, expected: list[str]
) -> None:
    assert ids(client.get(f"{KIOSK}/{query}")) == expected


def test_text_that_no_title_can_hold_is_refused(client: httpx.Client) -> None:
    refused = client.get(f"{KIOSK}/supplies?text=a%00b")
    assert (refused.status_code, refused.json()["mistakes"][0]["field"]) == (422, "query.text")


def test_filters_leave_out_what_does_not_match(client: httpx.Client, edge: Edge, kiosk: Venue) -> None:
    supplies = (*kiosk.supplies, changed(kiosk.supplies[0], id="idle"))
    nodes = (*kiosk.nodes, changed(kiosk.nodes[0], id="bare", channels=()))
    dark = changed(kiosk.scenes[0], id="sill-only", layers=kiosk.scenes[0].layers[1:])
    edge.inventory.load(changed(kiosk, supplies=supplies, nodes=nodes, scenes=(*kiosk.scenes, dark)))
    assert ids(client.get(f"{KIOSK}/supplies?node=bare")) == []
    assert ids(client.get(f"{KIOSK}/nodes?supply=idle")) == []
    assert ids(client.get(f"{KIOSK}/nodes?zone=sill")) == ["front"]
    assert ids(client.get(f"{KIOSK}/scenes?zone=lintel")) == ["evening"]
    assert ids(client.get(f"{KIOSK}/scenes?zone=sill")) == ["evening", "sill-only"]


@pytest.mark.parametrize("query", ["supplies?node=none", "nodes?supply=none", "nodes?zone=none", "scenes?zone=none"])
def test_filter_by_what_is_not_there_is_told(client: httpx.Client, query: str) -> None:
    response = client.get(f"{KIOSK}/{query}")
    assert (response.status_code, "none" in response.json()["detail"]) == (404, True)


@pytest.mark.parametrize("collection", ITEMS)
def test_item_is_read_changed_and_guarded(client: httpx.Client, collection: str) -> None:
    address = f"{KIOSK}/{collection}/{ITEMS[collection]}"
    read = client.get(address)
    body: dict[str, Any] = read.json()
    changed_body = body | {"title": "New title"}
    assert client.put(address, json=changed_body).status_code == 428
    first = client.put(address, json=changed_body, headers={"If-Match": read.headers["etag"]})
    assert (first.status_code, first.json()["title"]) == (200, "New title")
    second = client.put(address, json=changed_body, headers={"If-Match": read.headers["etag"]})
    assert second.status_code == 412
    assert client.get(address).headers["etag"] == first.headers["etag"]


@pytest.mark.parametrize("collection", ITEMS)
def test_item_that_others_need_is_not_removed(client: httpx.Client, collection: str) -> None:
    address = f"{KIOSK}/{collection}/{ITEMS[collection]}"
    response = client.delete(address, headers={"If-Match": "*"})
    assert response.status_code == 422
    assert response.json()["mistakes"]
    assert client.get(address).status_code == 200


@pytest.mark.parametrize("collection", ITEMS)
def test_item_is_created_and_removed(client: httpx.Client, collection: str) -> None:
    body: dict[str, Any] = client.get(f"{KIOSK}/{collection}/{ITEMS[collection]}").json()
    key = "key" if collection == "pixel-types" else "id"
    body |= {key: "fresh"}
    if collection == "nodes":
        body["channels"] = []
    if collection == "zones":
        body |= {"spans": [], "of": ["lintel"]}
    address = f"{KIOSK}/{collection}/fresh"
    created = client.put(address, json=body, headers={"If-None-Match": "*"})
    assert created.status_code == 201, created.text
    assert ids(client.get(f"{KIOSK}/{collection}"))[-1] == "fresh"
    assert client.delete(address).status_code == 428
    removed = client.delete(address, headers={"If-Match": created.headers["etag"]})
    assert (removed.status_code, removed.content) == (204, b"")
    assert client.get(address).status_code == 404


def test_item_under_another_id_is_refused(client: httpx.Client) -> None:
    body = client.get(f"{KIOSK}/supplies/psu-5v").json()
    response = client.put(f"{KIOSK}/supplies/other", json=body, headers={"If-None-Match": "*"})
    assert (response.status_code, response.json()["mistakes"][0]["field"]) == (422, "body.id")


def test_pages_of_a_list_are_followed_by_cursor(client: httpx.Client) -> None:
    first = client.get(f"{KIOSK}/zones?limit=2").json()
    rest = client.get(f"{KIOSK}/zones", params={"limit": 2, "cursor": first["next"]}).json()
    assert [zone["id"] for zone in first["items"] + rest["items"]] == ["sill", "lintel", "whole"]
    assert rest["next"] is None


def test_equal_keys_in_json_are_told_even_with_broken_text_in_them(client: httpx.Client) -> None:
    body = json.dumps({"id": "kiosk", "title": "A"})[:-1] + ', "\\ud800": 1, "\\ud800": 2}'
    headers = {"Content-Type": "application/json", "If-Match": "*"}
    response = client.put(KIOSK, content=body, headers=headers)
    assert response.status_code == 422
    assert response.json()["mistakes"]


def test_venue_file_that_was_not_sent_is_asked_for(edge: Edge) -> None:
    with edge.client() as client:
        answer = client.post("/api/v1/venues/check", headers={"Content-Type": "application/yaml"})
    assert answer.status_code == 422
    assert answer.json()["mistakes"][0]["field"] == "body"


def test_catalogue_is_listed_with_its_sources(client: httpx.Client) -> None:
    response = client.get("/api/v1/pixel-catalogue")
    assert ids(response) == list(PIXEL_CATALOGUE)
    assert all(kind["sources"]["otherwise"] for kind in response.json()["items"])
    first = client.get("/api/v1/pixel-catalogue", params={"limit": 2}).json()
    second = client.get("/api/v1/pixel-catalogue", params={"limit": 2, "cursor": first["next"]})
    assert ids(second) == list(PIXEL_CATALOGUE)[2:4]


MEASUREMENT: dict[str, Any] = {
    "like": "rgb-5v-own",
    "reading": {"pixels": 50, "volts": 4.9, "idle_a": 0.05, "full_a": 3.6, "on": "2025-03-01"},
}


def test_measured_type_is_told_and_saved_only_by_a_put(client: httpx.Client) -> None:
    before = client.get(f"{KIOSK}/pixel-types").json()
    found = client.post(f"{KIOSK}/pixel-types/measure", json=MEASUREMENT).json()
    assert "which matters" in found["verdict"]
    assert found["compared"][-1]["measured_ma"] == pytest.approx(72.0, abs=0.01)
    assert client.get(f"{KIOSK}/pixel-types").json() == before
    kind = found["pixel_type"]
    address = f"{KIOSK}/pixel-types/{kind['key']}"
    created = client.put(address, json=kind, headers={"If-None-Match": "*"})
    assert created.status_code == 201, created.text
    assert client.delete(address, headers={"If-Match": created.headers["etag"]}).status_code == 204


@pytest.mark.parametrize(
    ("changes", "status", "field"),
    [
        ({"like": "rgb-6v"}, 404, None),
        ({"reading": MEASUREMENT["reading"] | {"full_a": 0.01}}, 422, "body.reading"),
        ({"reading": MEASUREMENT["reading"] | {"white_a": 1}}, 422, "white_a"),
        ({"reading": MEASUREMENT["reading"] | {"on": "today"}}, 422, "body.reading.on"),
        ({"reading": MEASUREMENT["reading"] | {"pixels": 10**9}}, 422, "body.reading.pixels"),
        ({"key": "Not An Id"}, 422, "body.key"),
        ({"unheard_of": 1}, 422, "body.unheard_of"),
    ],
)
def test_measurement_with_a_mistake_names_it(
    client: httpx.Client, changes: dict[str, Any], status: int, field: str | None
) -> None:
    response = client.post(f"{KIOSK}/pixel-types/measure", json=MEASUREMENT | changes)
    assert response.status_code == status
    assert field is None or field in [mistake["field"] for mistake in response.json()["mistakes"]]


def test_pixel_type_without_sources_is_refused(client: httpx.Client) -> None:
    kind = PIXEL_CATALOGUE["rgb-5v-nrz800"].without_sources().model_dump(mode="json") | {"key": "bare"}
    response = client.put(f"{KIOSK}/pixel-types/bare", json=kind, headers={"If-None-Match": "*"})
    assert response.status_code == 422
    assert "does not say where its values come from" in response.text

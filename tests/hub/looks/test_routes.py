"""REST of looks, as a caller sees it."""

from typing import Any

import httpx
import pytest

from hub.looks import LookZones, look_of, looks, scene_of
from schemas import Scene

ADD = "/api/v1/venues/kiosk/looks/lamplight"
SCENES = "/api/v1/venues/kiosk/scenes"


def test_looks_are_listed_with_their_roles(client: httpx.Client) -> None:
    listed = client.get("/api/v1/looks").json()
    assert [look["id"] for look in listed["items"]] == list(looks())
    assert listed["next"] is None
    for look in listed["items"]:
        assert look["roles"][0]["role"] == "front"
        assert [role["required"] for role in look["roles"]] == [True] + [False] * (len(look["roles"]) - 1)
        assert all(role["description"] for role in look["roles"])
        assert client.get(f"/api/v1/looks/{look['id']}").json() == look


def test_unknown_look_is_not_found(client: httpx.Client) -> None:
    assert client.get("/api/v1/looks/laser-show").status_code == 404
    answer = client.post("/api/v1/venues/kiosk/looks/laser-show", json={"zones": {"front": "sill"}})
    assert answer.status_code == 404
    assert "there is no look 'laser-show'" in answer.json()["detail"]


def test_added_look_is_a_scene_like_any_other(client: httpx.Client) -> None:
    body = {"zones": {"front": "sill", "openings": "lintel"}, "id": "friday", "title": "Friday"}
    added = client.post(ADD, json=body)
    assert added.status_code == 201
    wanted = scene_of(
        look_of("lamplight"), LookZones(front="sill", openings="lintel"), scene_id="friday", title="Friday"
    )
    assert Scene.model_validate_json(added.content) == wanted
    read = client.get(f"{SCENES}/friday")
    assert (read.json(), read.headers["etag"]) == (added.json(), added.headers["etag"])
    assert client.delete(f"{SCENES}/friday", headers={"If-Match": added.headers["etag"]}).status_code == 204


def test_scene_that_is_there_is_replaced_only_on_purpose(client: httpx.Client) -> None:
    first = client.post(ADD, json={"zones": {"front": "sill"}})
    assert first.status_code == 201
    again = client.post(ADD, json={"zones": {"front": "lintel"}})
    assert again.status_code == 412
    assert client.get(f"{SCENES}/lamplight").json() == first.json()
    replaced = client.post(ADD, json={"zones": {"front": "lintel"}}, headers={"If-Match": first.headers["etag"]})
    assert replaced.status_code == 200
    assert {layer["zone"] for layer in client.get(f"{SCENES}/lamplight").json()["layers"]} == {"lintel"}


@pytest.mark.parametrize(
    ("body", "field", "words"),
    [
        ({"zones": {"front": "sil"}}, "zones.front", "did you mean 'sill'?"),
        ({"zones": {"front": "sill", "accent": "clock"}}, "zones.accent", "there is no zone 'clock'"),
        ({"zones": {"lines": "sill"}}, "body.zones.front", "missing"),
        ({"zones": {"front": "sill", "roof": "lintel"}}, "body.zones.roof", "there is no field"),
        ({"zones": {"front": "Sill"}}, "body.zones.front", "not an id"),
        ({"zones": {"front": "sill"}, "id": "No"}, "body.id", "not an id"),
        ({"zones": {"front": "sill"}, "title": "a\x07b"}, "body.title", "does not match"),
        ({}, "body.zones", "missing"),
    ],
)
def test_what_does_not_fit_is_named(client: httpx.Client, body: dict[str, Any], field: str, words: str) -> None:
    before = client.get(SCENES).json()
    answer = client.post(ADD, json=body)
    assert answer.status_code == 422
    (mistake,) = answer.json()["mistakes"]
    assert mistake["field"] == field
    assert words in f"{mistake['reason']}; {mistake['remedy']}"
    assert client.get(SCENES).json() == before


def test_look_for_an_unknown_venue_is_not_found(client: httpx.Client) -> None:
    assert client.post("/api/v1/venues/nowhere/looks/lamplight", json={"zones": {"front": "sill"}}).status_code == 404

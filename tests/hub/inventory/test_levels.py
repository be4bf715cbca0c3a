"""The master level, and trims of zones, as a caller sees them."""

import httpx
import pytest

from schemas.venue import Venue
from tests.hub.edge import Edge

KIOSK = "/api/v1/venues/kiosk"
LEVEL = f"{KIOSK}/master-level"


def test_master_level_is_read_and_set_and_nothing_else_changes(client: httpx.Client, edge: Edge, kiosk: Venue) -> None:
    assert client.get(LEVEL).json() == {"level": 1.0}
    told: list[str] = []
    edge.inventory.on_change(told.append)
    assert client.put(LEVEL, json={"level": 0.6}).json() == {"before": 1.0, "level": 0.6}
    assert client.put(LEVEL, json={"level": 0.6}).json() == {"before": 0.6, "level": 0.6}
    assert told == ["kiosk"], "a level that stands already is no change, and rolls nothing out"
    assert client.get(LEVEL).json() == {"level": 0.6}
    assert edge.inventory.venue("kiosk") == kiosk.model_copy(update={"master_level": 0.6})


@pytest.mark.parametrize("level", [-0.1, 1.01, None, "0.5", True])
def test_level_out_of_range_is_refused_by_its_field(client: httpx.Client, level: object) -> None:
    refused = client.put(LEVEL, json={"level": level})
    assert (refused.status_code, refused.json()["mistakes"][0]["field"]) == (422, "body.level")
    assert client.get(LEVEL).json() == {"level": 1.0}


def test_level_of_a_venue_that_is_not_there_is_told(client: httpx.Client) -> None:
    assert client.put("/api/v1/venues/none/master-level", json={"level": 0.5}).status_code == 404


def test_trim_and_white_point_are_kept_and_told_as_changes(client: httpx.Client) -> None:
    zone = client.get(f"{KIOSK}/zones/whole")
    body = zone.json() | {"trim": 0.7, "white_point_k": 3_000}
    put = client.put(f"{KIOSK}/zones/whole", json=body, headers={"If-Match": zone.headers["etag"]})
    assert put.status_code == 200
    exported = client.get(f"{KIOSK}/export").text
    assert "{id: whole, trim: 0.7, white_point_k: 3000, of: [sill, lintel]}" in exported
    headers = {"Content-Type": "application/yaml"}
    back = exported.replace("trim: 0.7", "trim: 0.5")
    told = client.put(KIOSK, params={"dry_run": True}, content=back, headers=headers).json()
    assert told["changes"][0]["fields"] == [{"field": "trim", "before": 0.7, "after": 0.5}]

"""The advice over HTTP: answers that say how they were found, and mistakes that name the field and the remedy."""

from collections.abc import Iterator
from typing import Any

import pytest

from tests.conftest import NODES
from tests.hub.live_hub import LiveHub, open_live_hub


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        yield opened


def get(live: LiveHub, path: str, **query: object) -> Any:  # noqa: ANN401 (a response)
    with live.client() as client:
        return client.get(f"/api/v1{path}", params={key: str(value) for key, value in query.items()})


@pytest.mark.parametrize(
    ("path", "query", "figure", "value"),
    [
        ("/advice/wire", {"length_m": 6, "current_a": 4.5, "volts": 12}, "wire_mm2", 4.0),
        ("/advice/fuse", {"load_a": 4.5, "wire_awg": 16, "volts": 5}, "fuse_a", 7.5),
        ("/advice/supply", {"load_a": 9, "volts": 5}, "rated_a", 12.0),
        ("/advice/frame-rate", {"pixels": 1024, "wanted_hz": 60}, "first_pixels", [0, 512]),
    ],
)
def test_advice_that_needs_no_venue(
    live: LiveHub, path: str, query: dict[str, object], figure: str, value: object
) -> None:
    answer = get(live, path, **query)
    assert answer.status_code == 200
    body = answer.json()
    assert body["values"][figure] == value
    assert body["found"] is True
    for name, asked in query.items():
        assert body["inputs"][name] == asked


def test_brightness_and_feeds_of_a_venue(live: LiveHub) -> None:
    body = live.call("GET", "/advice/brightness").json()
    assert 0 < body["values"]["level"] < 1
    assert len(body["supplies"]) == 2
    feeds = live.call("GET", "/advice/feeds", params={"node": NODES[0], "channel": 1, "level": 1}).json()
    assert len(feeds["values"]["volts"]) == 75
    assert min(feeds["values"]["volts"]) >= feeds["inputs"]["minimum_volts"]


@pytest.mark.parametrize(
    ("path", "query", "field"),
    [
        ("/advice/wire", {"length_m": 0, "current_a": 4.5, "volts": 12}, "query.length_m"),
        ("/advice/wire", {"length_m": "inf", "current_a": 4.5, "volts": 12}, "query.length_m"),
        ("/advice/wire", {"length_m": 6, "volts": 12}, "query.current_a"),
        ("/advice/wire", {"length_m": 6, "current_a": 4.5, "volts": 12, "ambient": 40}, "query.ambient"),
        ("/advice/fuse", {"load_a": 1, "volts": 5}, "query.wire_mm2"),
        ("/advice/fuse", {"load_a": 1, "volts": 5, "wire_awg": 16, "kind": "glass"}, "query.kind"),
        ("/advice/supply", {"load_a": 1, "volts": 61}, "query.volts"),
        ("/advice/frame-rate", {"pixels": 10, "pixel_type": "nothing"}, "query.pixel_type"),
        ("/venues/arcade/advice/feeds", {"node": NODES[0], "channel": 1, "level": 2}, "query.level"),
    ],
)
def test_mistakes_name_the_field_and_the_remedy(live: LiveHub, path: str, query: dict[str, object], field: str) -> None:
    answer = get(live, path, **query)
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    (mistake,) = answer.json()["mistakes"]
    assert mistake["field"] == field
    assert mistake["remedy"]


def test_unknown_venue_and_node_are_not_found(live: LiveHub) -> None:
    assert get(live, "/venues/nowhere/advice/brightness").status_code == 404
    query = {"node": "bay-99", "channel": 1}
    assert live.call("GET", "/advice/feeds", params=query).status_code == 404

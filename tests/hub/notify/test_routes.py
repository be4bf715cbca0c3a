"""Destinations and notices over HTTP: what is shown, what is refused with field and remedy, and what is never shown."""

from collections.abc import Iterator
from typing import Any

import httpx
import pytest

from hub.notify.destination import MAX_DESTINATIONS
from tests.hub.desired.venues import row_venue
from tests.hub.edge import Edge, open_edge
from tests.hub.notify.receiver import Receiver, open_receiver

pytestmark = pytest.mark.filterwarnings("ignore:'imghdr' is deprecated:DeprecationWarning")

PATH = "/api/v1/venues/arcade"
SECRET = "tr0ub4dor-of-the-arcade"  # noqa: S105 (invented)


@pytest.fixture(scope="module")
def edge(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Edge]:
    with open_edge(tmp_path_factory.mktemp("edge")) as opened:
        opened.inventory.load(row_venue(nodes=2))
        yield opened


@pytest.fixture(autouse=True)
def _nobody_is_told(edge: Edge) -> None:
    for one in call(edge, "GET", "/destinations").json()["items"]:
        call(edge, "DELETE", f"/destinations/{one['id']}")


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    with open_receiver() as opened:
        yield opened


def call(edge: Edge, method: str, path: str, **options: Any) -> httpx.Response:  # noqa: ANN401 (httpx's options)
    with edge.client() as client:
        return client.request(method, PATH + path, **options)


def wanted(**changes: object) -> dict[str, object]:
    return {"id": "desk", "title": "Desk", "kind": "webhook", "url": f"https://desk.example.org/{SECRET}"} | changes


def test_destination_is_added_and_its_secrets_are_shown_once_or_never(edge: Edge) -> None:
    answer = call(edge, "POST", "/destinations", json=wanted())
    assert answer.status_code == 201
    key = answer.json()["signing_key"]
    assert key["key_id"] == "arcade/desk"
    shown = [answer.text.replace(key["key"], ""), call(edge, "GET", "/destinations").text]
    shown.append(call(edge, "GET", "/destinations/desk").text)
    assert not any(secret in text for text in shown for secret in (SECRET, key["key"]))
    view = call(edge, "GET", "/destinations/desk").json()
    assert view["address"] == "https://desk.example.org/…"
    assert view["routes"] == [{"severity_at_least": "notice", "zones": [], "tells": ["opened", "ended"], "hours": None}]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"url": "ftp://desk.example.org/"}, "body.url"),
        ({"url": "https://desk.example.org/\n"}, "body.url"),
        ({"url": "https://desk.example.org/" + "x" * 2_000}, "body.url"),
        ({"kind": "apprise", "url": "syslog://"}, "body.url"),
        ({"kind": "pigeon"}, "body.kind"),
        ({"id": "Desk!"}, "body.id"),
        ({"title": ""}, "body.title"),
        ({"routes": [{}] * 9}, "body.routes"),
        ({"routes": [{"zones": ["attic"]}]}, "body.routes[0].zones"),
        ({"routes": [{"tells": []}]}, "body.routes[0].tells"),
        ({"routes": [{"hours": {"begins": "25:00", "ends": "06:00"}}]}, "body.routes[0].hours.begins"),
        ({"routes": []}, "body"),
        ({"kind": "heartbeat", "digest_at": "07:30"}, "body"),
        ({"digest_at": "7:30"}, "body.digest_at"),
        ({"volume": 11}, "body.volume"),
    ],
)
def test_what_is_wrong_is_named_with_its_field(edge: Edge, changes: dict[str, object], field: str) -> None:
    answer = call(edge, "POST", "/destinations", json=wanted(**changes))
    assert answer.status_code == 422
    mistakes = answer.json()["mistakes"]
    assert field in {one["field"] for one in mistakes}
    assert all(one["remedy"] for one in mistakes)
    assert SECRET not in answer.text
    assert call(edge, "GET", "/destinations").json()["items"] == []


def test_change_needs_what_was_read_and_keeps_the_url_unless_told(edge: Edge, receiver: Receiver) -> None:
    call(edge, "POST", "/destinations", json=wanted(url=f"{receiver.address}/{SECRET}"))
    read = call(edge, "GET", "/destinations/desk")
    body = {"title": "Night desk", "routes": [{"severity_at_least": "alarm"}], "digest_at": "07:30"}
    assert call(edge, "PUT", "/destinations/desk", json=body).status_code == 428
    stale = call(edge, "PUT", "/destinations/desk", json=body, headers={"If-Match": '"another"'})
    assert stale.status_code == 412
    changed = call(edge, "PUT", "/destinations/desk", json=body, headers={"If-Match": read.headers["ETag"]})
    assert changed.status_code == 200
    assert (changed.json()["title"], changed.json()["digest_at"]) == ("Night desk", "07:30")
    assert changed.headers["ETag"] == call(edge, "GET", "/destinations/desk").headers["ETag"]
    assert call(edge, "POST", "/destinations/desk/test").json()["delivered"]
    assert receiver.got[0].url.endswith(SECRET)


def test_test_message_says_how_it_went(edge: Edge, receiver: Receiver) -> None:
    call(edge, "POST", "/destinations", json=wanted(url=receiver.address))
    call(edge, "POST", "/destinations", json=wanted(id="alive", kind="heartbeat", url=receiver.address))
    assert call(edge, "POST", "/destinations/desk/test").json()["delivered"]
    receiver.answers = lambda _request: 401
    refused = call(edge, "POST", "/destinations/desk/test").json()
    assert (refused["delivered"], refused["said"]) == (False, "answered 401")
    assert call(edge, "GET", "/destinations/desk").json()["last_error"] == "answered 401"
    call(edge, "POST", "/destinations/alive/test")
    assert [one.method for one in receiver.got] == ["POST", "POST", "GET"]


def test_id_is_taken_once_and_destinations_are_bounded(edge: Edge) -> None:
    assert call(edge, "POST", "/destinations", json=wanted()).status_code == 201
    assert call(edge, "POST", "/destinations", json=wanted()).status_code == 409
    for number in range(1, MAX_DESTINATIONS):
        assert call(edge, "POST", "/destinations", json=wanted(id=f"desk-{number}")).status_code == 201
    assert call(edge, "POST", "/destinations", json=wanted(id="one-more")).status_code == 409


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("GET", "/destinations/nobody"),
        ("DELETE", "/destinations/nobody"),
        ("POST", "/destinations/nobody/test"),
        ("POST", "/notices/1/resend"),
        ("POST", "/notices/one/resend"),
        ("DELETE", f"/notices/{'9' * 30}"),
    ],
)
def test_what_is_not_there_is_a_404(edge: Edge, method: str, path: str) -> None:
    assert call(edge, method, path).status_code == 404
    with edge.client() as client:
        assert client.request(method, f"/api/v1/venues/elsewhere{path}").status_code == 404

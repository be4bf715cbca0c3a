"""The documents over REST, of a whole running hub."""

import csv
import io
from collections.abc import Iterator

import pypdf
import pytest

from hub.audit.document import FEED_COLUMNS, SUPPLY_COLUMNS
from tests.conftest import NODES, VENUE
from tests.hub.live_hub import LiveHub, open_live_hub


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        yield opened


@pytest.mark.parametrize(
    ("path", "kind", "how", "name"),
    [
        ("/audit.html", "text/html; charset=utf-8", "inline", f"audit-{VENUE}-"),
        ("/audit.pdf", "application/pdf", "inline", f"audit-{VENUE}-"),
        ("/audit.csv", "text/csv; charset=utf-8", "attachment", f"audit-{VENUE}-"),
        ("/audit-feeds.csv", "text/csv; charset=utf-8", "attachment", f"audit-feeds-{VENUE}-"),
    ],
)
def test_each_document_says_its_kind_and_a_name_for_its_file(
    live: LiveHub, path: str, kind: str, how: str, name: str
) -> None:
    answer = live.call("GET", path)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == kind
    disposition = answer.headers["content-disposition"]
    assert disposition.startswith(f'{how}; filename="{name}')
    assert disposition.endswith(f'{path[path.rindex(".") :]}"')
    assert answer.headers["cache-control"] == "no-store"


def test_page_is_of_the_scene_and_revision_in_force_and_may_run_nothing(live: LiveHub) -> None:
    answer = live.call("GET", "/audit.html")
    in_force = live.hub.rollouts.in_force(VENUE)
    assert in_force is not None
    assert f"revision {in_force.revision}</div>" in answer.text
    assert "<dd>Dusk</dd>" in answer.text
    assert "sandbox" in answer.headers["content-security-policy"]


def test_pdf_of_one_supply_is_of_that_supply(live: LiveHub) -> None:
    answer = live.call("GET", "/audit.pdf", params={"supply": f"psu-{NODES[0]}"})
    assert f"audit-{VENUE}-psu-{NODES[0]}-" in answer.headers["content-disposition"]
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(answer.content)).pages)
    assert f"Supply psu-{NODES[0]}" in text
    assert f"Supply psu-{NODES[1]}" not in text


def test_csv_is_the_audit_of_the_same_hub(live: LiveHub) -> None:
    audit = live.call("GET", "/audit").json()
    supplies = list(csv.DictReader(io.StringIO(live.call("GET", "/audit.csv").text, newline="")))
    feeds = list(csv.DictReader(io.StringIO(live.call("GET", "/audit-feeds.csv").text, newline="")))
    assert tuple(supplies[0]) == tuple(SUPPLY_COLUMNS)
    assert tuple(feeds[0]) == tuple(FEED_COLUMNS)
    assert [float(row["worst_case_a"]) for row in supplies] == [one["worst_case_a"] for one in audit["supplies"]]
    assert [float(row["drop_v"]) for row in feeds] == [feed["drop_v"] for run in audit["runs"] for feed in run["feeds"]]


@pytest.mark.parametrize(
    ("path", "params", "status"),
    [
        ("/audit.html", {"supply": "attic"}, 404),
        ("/audit.pdf", {"supply": "attic"}, 404),
        ("/audit.pdf", {"supply": "../up"}, 422),
        ("/audit.csv", {"supply": "attic"}, 422),
    ],
)
def test_wrong_question_is_told_before_anything_is_made(
    live: LiveHub, path: str, params: dict[str, str], status: int
) -> None:
    answer = live.call("GET", path, params=params)
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"


def test_unknown_venue_has_no_document(live: LiveHub) -> None:
    with live.client() as client:
        for document in ("audit.html", "audit.pdf", "audit.csv", "audit-feeds.csv"):
            assert client.get(f"/api/v1/venues/nowhere/{document}").status_code == 404

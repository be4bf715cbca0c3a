import struct
from collections.abc import Iterator

import httpx
import pytest

from tests.hub.live_hub import LiveHub, open_live_hub


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        yield opened


def _records(response: httpx.Response) -> Iterator[tuple[float, int, bytes]]:
    held = b""
    for chunk in response.iter_raw():
        held += chunk
        while len(held) >= 4 and len(held) >= 4 + (length := struct.unpack_from("<I", held)[0]):
            record, held = held[4 : 4 + length], held[4 + length :]
            show_s, revision = struct.unpack_from("<dI", record)
            yield show_s, revision, record[12:]


def test_frames_fit_the_elevation_and_show_the_revision_in_force(live: LiveHub) -> None:
    elevation = live.call("GET", "/elevation").json()
    assert elevation["pixels"] == 300
    with (
        live.client() as client,
        client.stream("GET", f"{live.venue_path}/elevation/frames", params={"rate_hz": 30}) as response,
    ):
        assert response.headers["content-type"] == "application/octet-stream"
        records = _records(response)
        first, later = next(records), next(records)
        assert first[1] == live.call("GET", "/rollouts").json()["items"][0]["revision"]
        assert len(first[2]) == len(later[2]) == 3 * elevation["pixels"]
        assert later[0] > first[0]
        assert max(first[2]) > 0


def test_take_shows_in_the_stream_that_is_open(live: LiveHub) -> None:
    with (
        live.client() as client,
        client.stream("GET", f"{live.venue_path}/elevation/frames", params={"rate_hz": 30}) as response,
    ):
        records = _records(response)
        next(records)
        revision = live.call("POST", "/takes", json={"scene": None, "fade_ms": 0}).json()["revision"]
        rgb = next(rgb for _, shown, rgb in records if shown == revision)
        assert max(rgb) == 0


@pytest.mark.parametrize(
    "path", ["/elevation/frames?rate_hz=0", "/elevation/frames?rate_hz=1e9", "/elevation/frames?rate_hz=nan"]
)
def test_bad_rate_is_refused(live: LiveHub, path: str) -> None:
    answer = live.call("GET", path)
    assert answer.status_code == 422
    assert answer.json()["mistakes"][0]["field"] == "query.rate_hz"


def test_preview_tells_amps_and_what_the_limiter_does(live: LiveHub) -> None:
    preview = live.call("GET", "/scenes/full-white/preview", params={"at_s": [0, 1.5]}).json()
    assert preview["instants_s"] == [0.0, 1.5]
    assert [(one["highest_a"], one["budget_a"]) for one in preview["supplies"]] == [(9.0, 3.2)] * 2
    assert all(one["limited_a"] <= 3.2 for one in preview["supplies"])


@pytest.mark.parametrize("path", ["/elevation", "/elevation/frames", "/scenes/dusk/preview", "/audit"])
def test_unknown_venue_is_not_found(live: LiveHub, path: str) -> None:
    with live.client() as client:
        assert client.get(f"/api/v1/venues/nowhere{path}").status_code == 404


def test_unknown_scene_has_no_preview(live: LiveHub) -> None:
    assert live.call("GET", "/scenes/noon/preview").status_code == 404


@pytest.mark.parametrize("at_s", ["inf", "-1", "nan", "x"])
def test_bad_instant_is_refused(live: LiveHub, at_s: str) -> None:
    assert live.call("GET", "/scenes/dusk/preview", params={"at_s": at_s}).status_code == 422


def test_audit_of_the_running_venue(live: LiveHub) -> None:
    audit = live.call("GET", "/audit").json()
    assert [(one["worst_case_a"], one["typical_a"], one["budget_a"], one["verdict"]) for one in audit["supplies"]] == [
        (9.0, 3.0, 3.2, "only-under-budget")
    ] * 2
    assert audit["venue"]["pixels"] == 300
    assert audit["cautions"]

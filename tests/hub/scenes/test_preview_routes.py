import io
import struct
import time
from collections.abc import Iterator
from contextlib import ExitStack
from typing import Any

import httpx
import pytest
from PIL import Image

from hub.scenes.draft_frames import MOST_STREAMS
from tests.hub.live_hub import LiveHub, open_live_hub
from tests.processes import wait_until

WASH = {"zone": "band", "pattern": {"pattern": "wash", "colour": "#ff0000"}}
WAVE = {
    "zone": "band",
    "pattern": {
        "pattern": "wave",
        "crest": "#ffffff",
        "trough": "#000000",
        "wavelength_m": 200.0,
        "speed_m_per_s": 100.0,
    },
}


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveHub]:
    with open_live_hub(tmp_path_factory.mktemp("hub")) as opened:
        yield opened


def _draft(*layers: dict[str, Any], title: str = "Draft", **others: str) -> dict[str, Any]:
    return {"id": "draft", "title": title, "layers": list(layers)} | others


def _records(response: httpx.Response) -> Iterator[tuple[float, int, bytes]]:
    held = b""
    for chunk in response.iter_raw():
        held += chunk
        while len(held) >= 4 and len(held) >= 4 + (length := struct.unpack_from("<I", held)[0]):
            record, held = held[4 : 4 + length], held[4 + length :]
            yield *struct.unpack_from("<dI", record), record[12:]


def test_draft_is_previewed_as_a_scene_of_the_venue_is(live: LiveHub) -> None:
    scene = live.call("GET", "/scenes/full-white").json()
    kept = live.call("GET", "/scenes/full-white/preview").json()
    draft = live.call("POST", "/previews", json=scene).json()
    assert draft == kept
    # Two zones on a supply each; what stands still is limited for good.
    assert [(one["asked_a"], len(one["limiting"])) for one in draft["supplies"]] == [([9.0], 1)] * 2


def test_draft_that_moves_tells_its_amps_over_the_period_and_nothing_is_kept(live: LiveHub) -> None:
    preview = live.call("POST", "/previews", json=_draft(WAVE)).json()
    (supply, _) = preview["supplies"]
    assert (preview["window_s"], preview["whole"]) == (2.0, True)
    assert len(supply["asked_a"]) == len(supply["let_through_a"]) == 120
    assert preview["step_s"] == pytest.approx(2 / 120, abs=1e-6)
    assert max(supply["let_through_a"]) <= supply["budget_a"] < max(supply["asked_a"])
    assert supply["limiting"][0]["lowest_scale"] < 0.4
    assert live.call("GET", "/scenes/draft").status_code == 404


@pytest.mark.parametrize("path", ["/previews", "/previews.png", "/previews.gif", "/previews.webp", "/previews/frames"])
@pytest.mark.parametrize(
    ("draft", "field", "remedy"),
    [
        (_draft(WASH, WASH | {"zone": "bamd"}), "body.layers[1].zone", "'band'"),
        (_draft(WASH | {"opacity": 2}), "body.layers[0].opacity", ""),
        (_draft(WASH | {"pattern": {"pattern": "wash", "colour": "reddish"}}), "body.layers[0].pattern", ""),
        (_draft(titel="x"), "body.titel", ""),
    ],
    ids=["zone", "range", "colour", "name"],
)
def test_mistake_in_a_draft_names_field_and_remedy(
    live: LiveHub, path: str, draft: dict[str, Any], field: str, remedy: str
) -> None:
    answer = live.call("POST", path, json=draft)
    assert answer.status_code == 422
    mistake = answer.json()["mistakes"][0]
    assert mistake["field"].startswith(field)
    assert mistake["remedy"]
    assert remedy in mistake["remedy"]


@pytest.mark.parametrize(
    ("ending", "kind"), [("png", "PNG"), ("gif", "GIF"), ("webp", "WEBP")], ids=["png", "gif", "webp"]
)
def test_pictures_of_a_scene_and_of_a_draft_are_what_they_say(live: LiveHub, ending: str, kind: str) -> None:
    scene = live.call("GET", "/scenes/dusk").json()
    kept = live.call("GET", f"/scenes/dusk/preview.{ending}", params={"width_px": 200})
    draft = live.call("POST", f"/previews.{ending}", params={"width_px": 200}, json=scene)
    assert (kept.status_code, kept.headers["content-type"]) == (200, f"image/{ending}")
    image = Image.open(io.BytesIO(kept.content))
    assert (image.format, image.size[0]) == (kind, 200)
    assert draft.content == kept.content
    if kind != "PNG":
        # A chase of 2 s at 20 frames a second.
        assert (image.n_frames, image.info["loop"]) == (40, 0)  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("path", "field"),
    [
        ("preview.png?width_px=159", "query.width_px"),
        ("preview.png?instants=17", "query.instants"),
        ("preview.gif?width_px=1601", "query.width_px"),
        ("preview.gif?seconds=nan", "query.seconds"),
        ("preview.webp?seconds=61", "query.seconds"),
        ("preview.webp?rate_hz=31", "query.rate_hz"),
        ("preview.webp?length_s=3", "query.length_s"),
    ],
)
def test_picture_beyond_its_bounds_is_refused(live: LiveHub, path: str, field: str) -> None:
    answer = live.call("GET", f"/scenes/dusk/{path}")
    assert answer.status_code == 422
    assert answer.json()["mistakes"][0]["field"] == field


@pytest.mark.parametrize("ending", ["png", "gif", "webp"])
def test_picture_of_no_scene_is_not_found(live: LiveHub, ending: str) -> None:
    assert live.call("GET", f"/scenes/noon/preview.{ending}").status_code == 404


def test_pictures_are_made_one_at_a_time_and_a_call_that_waited_in_vain_is_told(
    live: LiveHub, monkeypatch: pytest.MonkeyPatch
) -> None:
    maker = live.hub.scenes._pictures
    monkeypatch.setattr(maker, "_longest_wait_s", 0.05)
    with maker._turn():
        assert live.call("GET", "/scenes/dusk/preview.png").status_code == 503
    assert live.call("GET", "/scenes/dusk/preview.png").status_code == 200


def test_draft_runs_on_the_elevation_at_the_rate_asked_for(live: LiveHub) -> None:
    pixels = live.call("GET", "/elevation").json()["pixels"]
    with (
        live.client() as client,
        client.stream(
            "POST",
            f"{live.venue_path}/previews/frames",
            params={"rate_hz": 60},
            json=_draft(WASH, WAVE | {"opacity": 0.5}),
        ) as response,
    ):
        assert response.headers["content-type"] == "application/octet-stream"
        records = _records(response)
        taken = [next(records) for _ in range(60)]
    shown_s = [show_s for show_s, _, _ in taken]
    assert all(len(rgb) == 3 * pixels for _, _, rgb in taken)
    assert {revision for _, revision, _ in taken} == {0}
    assert abs(shown_s[0] - time.time()) < 30
    assert shown_s == sorted(set(shown_s))
    # Sixty frames take a second and never less; on a busy machine more.
    assert shown_s[-1] - shown_s[0] > 0.9
    assert len({rgb for _, _, rgb in taken}) > 30
    assert all(rgb[0] > 0 for _, _, rgb in taken)


def test_streams_of_drafts_are_bounded_and_a_place_is_free_again_when_one_leaves(live: LiveHub) -> None:
    path = f"{live.venue_path}/previews/frames"
    with ExitStack() as open_streams:
        client = open_streams.enter_context(live.client())
        read: list[Iterator[tuple[float, int, bytes]]] = []  # a reader that is let go of closes its stream
        for _ in range(MOST_STREAMS):
            read.append(_records(open_streams.enter_context(client.stream("POST", path, json=_draft(WASH)))))
            next(read[-1])
        refused = live.call("POST", "/previews/frames", json=_draft(WASH))
        assert refused.status_code == 503
        assert "close one" in refused.json()["detail"]
    streams = live.hub.scenes._drafts._streams
    wait_until(lambda: not streams, 10.0, "the streams to be left")


@pytest.mark.parametrize("rate_hz", ["0", "61", "nan"])
def test_bad_rate_of_a_draft_is_refused(live: LiveHub, rate_hz: str) -> None:
    answer = live.call("POST", "/previews/frames", params={"rate_hz": rate_hz}, json=_draft(WASH))
    assert answer.json()["mistakes"][0]["field"] == "query.rate_hz"


def test_unknown_venue_has_no_drafts(live: LiveHub) -> None:
    with live.client() as client:
        for path in ("previews", "previews.png", "previews/frames"):
            assert client.post(f"/api/v1/venues/nowhere/{path}", json=_draft(WASH)).status_code == 404

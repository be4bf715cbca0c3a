from collections.abc import Iterator

import httpx
import pytest

from tests.hub.edge import open_edge


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    with open_edge(tmp_path_factory.mktemp("edge")) as edge, edge.client() as opened:
        yield opened


def test_scene_language_is_told_whole_and_kept_by_its_etag(client: httpx.Client) -> None:
    answer = client.get("/api/v1/patterns")
    language = answer.json()
    (wave,) = [one for one in language["patterns"] if one["pattern"] == "wave"]
    (wavelength,) = [one for one in wave["parameters"] if one["name"] == "wavelength_m"]
    assert [wavelength[key] for key in ("kind", "unit", "least", "most", "required")] == [
        "number", "m", 0.001, 10_000, True,
    ]  # fmt: skip
    assert language["colour_names"]["gold"] == "#ffd700"
    again = client.get("/api/v1/patterns", headers={"If-None-Match": answer.headers["ETag"]})
    assert (again.status_code, again.content) == (304, b"")

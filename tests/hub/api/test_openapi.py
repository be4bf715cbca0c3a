"""The OpenAPI document tells the whole truth: tokens, errors, every operation described; the committed one is new."""

from pathlib import Path
from typing import Any

import pytest

from hub.api.export import document_text, main
from hub.app import bare_application

COMMITTED = Path(__file__).parents[3] / "hub" / "web" / "openapi.json"


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return bare_application().openapi()


def operations(document: dict[str, Any]) -> list[dict[str, Any]]:
    return [operation for path in document["paths"].values() for operation in path.values()]


def test_committed_document_is_current() -> None:
    assert COMMITTED.read_text(encoding="utf-8") == document_text(), (
        "run: python -m hub.api.export hub/web/openapi.json"
    )


def test_every_operation_says_what_it_does_and_that_errors_are_problems(document: dict[str, Any]) -> None:
    for operation in operations(document):
        assert operation.get("description"), operation["operationId"]
        assert operation["responses"]["default"] == {"$ref": "#/components/responses/Problem"}
        assert "422" not in operation["responses"]


def test_operation_ids_are_unique(document: dict[str, Any]) -> None:
    names = [operation["operationId"] for operation in operations(document)]
    assert len(names) == len(set(names))


def test_document_asks_for_a_token(document: dict[str, Any]) -> None:
    assert document["security"] == [{"token": []}]
    assert document["components"]["securitySchemes"]["token"]["scheme"] == "bearer"


def test_every_reference_leads_somewhere(document: dict[str, Any]) -> None:
    def walk(value: object) -> None:
        if isinstance(value, dict):
            if isinstance(target := value.get("$ref"), str):
                place: Any = document
                for part in target.removeprefix("#/").split("/"):
                    place = place[part]
            for part in value.values():
                walk(part)
        elif isinstance(value, list):
            for part in value:
                walk(part)

    walk(document)


def test_check_tells_a_document_that_is_not_current(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "openapi.json"

    def export(*options: str) -> int:
        monkeypatch.setattr("sys.argv", ["export", str(file), *options])
        return main()

    assert export("--check") == 1
    assert "run: python -m hub.api.export" in capsys.readouterr().err
    assert export() == 0
    assert export("--check") == 0
    file.write_text(file.read_text() + " ")
    assert export("--check") == 1

"""The page's types come from the API document, which must be the one that this hub serves."""

from pathlib import Path

from hub.api.export import document_text

DOCUMENT = Path(__file__).parents[3] / "hub/web/openapi.json"


def test_committed_api_document_is_current() -> None:
    current = DOCUMENT.read_text(encoding="utf-8") == document_text()
    # Not compared in the assertion itself: pytest would print both documents.
    assert current, "run: python -m hub.api.export hub/web/openapi.json && npm --prefix hub/web run types"

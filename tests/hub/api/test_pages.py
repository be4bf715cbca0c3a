"""A list comes in pages, in order, each item once."""

import httpx
import pytest

from hub.api.pages import PageRequest
from hub.errors import InvalidError
from tests.hub.api.conftest import ITEMS


@pytest.mark.parametrize("limit", [1, 5, 22, 23, 24, 500])
def test_pages_give_each_item_once_in_order(client: httpx.Client, limit: int) -> None:
    found: list[str] = []
    cursor: str | None = None
    for _ in range(len(ITEMS) + 1):
        query = {"limit": limit} | ({} if cursor is None else {"cursor": cursor})
        page = client.get("/api/v1/trials/items", params=query).json()
        assert len(page["items"]) <= limit
        found += page["items"]
        cursor = page["next"]
        if cursor is None:
            break
    assert found == ITEMS


@pytest.mark.parametrize("limit", [0, -1, 501, "many", ""])
def test_limit_out_of_bounds_is_refused(client: httpx.Client, limit: object) -> None:
    response = client.get("/api/v1/trials/items", params={"limit": str(limit)})
    assert response.status_code == 422
    assert response.json()["mistakes"][0]["field"] == "query.limit"


def test_cursor_of_an_item_that_is_gone_is_told() -> None:
    with pytest.raises(InvalidError, match="changed since"):
        PageRequest(limit=2, after="gone").page_of_all(["a", "b"], str)

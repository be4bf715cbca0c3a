"""A query parameter that a route does not take is named, not passed over."""

import pytest

from tests.hub.edge import Edge


@pytest.mark.parametrize(
    ("query", "remedy"),
    [
        ("limt=5", "did you mean `limit`?"),
        ("limit=5&zzz=1", "it takes cursor, limit"),
        (f"{'x' * 5_000}=1", "it takes cursor, limit"),
    ],
)
def test_query_that_is_not_taken_is_named_with_what_is(edge: Edge, query: str, remedy: str) -> None:
    with edge.client() as client:
        answer = client.get(f"/api/v1/venues?{query}")
    assert answer.status_code == 422
    (mistake,) = answer.json()["mistakes"]
    assert mistake["field"].startswith("query.")
    assert len(mistake["field"]) < 80
    assert remedy in mistake["remedy"]


def test_queries_that_are_taken_pass(edge: Edge) -> None:
    with edge.client() as client:
        assert client.get("/api/v1/venues?limit=5").status_code == 200

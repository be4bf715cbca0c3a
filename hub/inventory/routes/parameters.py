"""Parameters that the routes of several items share."""

from typing import Annotated

from fastapi import Query

from hub.errors import InvalidError, Mistake

Text = Annotated[
    str | None,
    Query(
        min_length=1,
        max_length=80,
        pattern=r"^[^\x00-\x1f\x7f-\x9f]+$",  # as titles are; PostgreSQL takes no text with a NUL in it
        description="Only items with this text in their id or title.",
    ),
]


def require_same_id(field: str, address: str, body: str) -> None:
    """Raise InvalidError unless the body is about what the address names."""
    if address != body:
        raise InvalidError(
            "address and body name different items",
            [Mistake(f"body.{field}", f"{body!r}, but the address says {address!r}", "make both the same")],
        )

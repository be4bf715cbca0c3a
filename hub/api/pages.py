"""Pages of a list: `limit` and an opaque `cursor` in, `items` and `next` out."""

import base64
import binascii
from collections.abc import Callable, Sequence
from typing import Annotated, Generic, TypeVar

from fastapi import Depends, Query
from pydantic import BaseModel, Field

from hub.errors import InvalidError, Mistake

MAX_LIMIT = 500
DEFAULT_LIMIT = 100
MAX_NUMBER_DIGITS = 15  # below 2**53, and what a database holds
T = TypeVar("T")


class Page(BaseModel, Generic[T]):
    """A part of a list, in the list's order."""

    items: list[T]
    next: str | None = Field(default=None, description="Send it as `cursor` for the next page; null on the last one.")


class PageRequest(BaseModel):
    """Which part of a list is wanted: at most `limit` items after the one whose key is `after`."""

    limit: int = DEFAULT_LIMIT
    after: str | None = None

    @property
    def after_number(self) -> int | None:
        """`after` where items are known by a number. Raises InvalidError where it is none."""
        if self.after is None:
            return None
        if not (self.after.isascii() and self.after.isdecimal() and len(self.after) <= MAX_NUMBER_DIGITS):
            raise InvalidError(
                "the cursor is not one of this list's",
                [
                    Mistake(
                        "query.cursor", "not a cursor of this list", "send `next` of the page before, or leave it out"
                    )
                ],
            )
        return int(self.after)

    def page(self, items: Sequence[T], key: Callable[[T], str]) -> Page[T]:
        """The page out of `items`, which start right after `after`. Fetch `limit + 1`, so that the end is known."""
        shown = list(items[: self.limit])
        return Page(items=shown, next=_cursor(key(shown[-1])) if len(items) > self.limit else None)

    def page_of_all(self, items: Sequence[T], key: Callable[[T], str]) -> Page[T]:
        """The page out of a whole list that is at hand. Raises InvalidError where the cursor's item is gone."""
        start = 0
        if self.after is not None:
            places = (place + 1 for place, item in enumerate(items) if key(item) == self.after)
            start = next(places, -1)
            if start < 0:
                raise InvalidError(
                    "the list changed since the page before",
                    [Mistake("query.cursor", "the item that it stands for is gone", "start again without a cursor")],
                )
        return self.page(items[start : start + self.limit + 1], key)


def _page_request(
    limit: Annotated[int, Query(ge=1, le=MAX_LIMIT, description="Most items on the page.")] = DEFAULT_LIMIT,
    cursor: Annotated[str | None, Query(max_length=400, description="`next` of the page before.")] = None,
) -> PageRequest:
    return PageRequest(limit=limit, after=None if cursor is None else _key(cursor))


WantedPage = Annotated[PageRequest, Depends(_page_request)]


def _cursor(key: str) -> str:
    return base64.urlsafe_b64encode(key.encode()).decode().rstrip("=")


def _key(cursor: str) -> str:
    try:
        return base64.b64decode(cursor + "=" * (-len(cursor) % 4), altchars=b"-_", validate=True).decode()
    except (binascii.Error, ValueError) as error:
        raise InvalidError(
            "the cursor is not one of this hub's",
            [Mistake("query.cursor", "not a cursor", "send `next` of the page before, or leave it out")],
        ) from error

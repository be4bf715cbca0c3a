"""Optimistic concurrency: strong ETags from content, If-Match on a change, If-None-Match: * to create (RFC 9110)."""

import hashlib
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Header
from pydantic import BaseModel

from hub.errors import PreconditionNeededError, StaleError


def etag_of(content: BaseModel) -> str:
    """A strong ETag, quotes included: the same for the same content, whoever computes it."""
    return f'"{hashlib.sha256(content.model_dump_json().encode()).hexdigest()[:32]}"'


@dataclass(frozen=True, slots=True)
class Precondition:
    """What the caller says about the state that it changes."""

    if_match: str | None = None
    if_none_match: str | None = None

    def check(self, current: str | None) -> None:
        """Raise unless the condition holds. `current` is the ETag of what is there, None where nothing is.

        Raises PreconditionNeededError (428) where no condition came, StaleError (412) where it does not hold.
        """
        if not any(header and header.strip() for header in (self.if_match, self.if_none_match)):
            raise PreconditionNeededError(
                "send If-Match with the ETag that you read to change it, or If-None-Match: * to create it"
            )
        if self.if_match is not None and (current is None or not _lists(self.if_match, current)):
            if current is None:
                raise StaleError("it does not exist (any more); create it with If-None-Match: *")
            raise StaleError("someone changed it since you read it; read it again and repeat your change")
        if self.if_none_match is not None and current is not None and _lists(self.if_none_match, current):
            raise StaleError("it exists already; change it with If-Match and its ETag")

    def lists(self, current: str) -> bool:
        """Whether If-None-Match names what is there: what a reader has is still right."""
        return self.if_none_match is not None and _lists(self.if_none_match, current)


def _precondition(
    if_match: Annotated[str | None, Header(max_length=2_000, description="ETag of what you read; `*` for any.")] = None,
    if_none_match: Annotated[str | None, Header(max_length=2_000, description="`*`: only create.")] = None,
) -> Precondition:
    return Precondition(if_match, if_none_match)


Preconditions = Annotated[Precondition, Depends(_precondition)]


def _lists(header: str, current: str) -> bool:
    return header.strip() == "*" or current in (entry.strip() for entry in header.split(","))

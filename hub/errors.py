"""The errors that the hub tells its callers. The HTTP status sits on the class; the edge turns it to a problem."""

from collections.abc import Sequence
from dataclasses import dataclass
from http import HTTPStatus
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing wrong with an input: the field, what is wrong, what to do. `line` counts from 1 in a file."""

    field: str
    reason: str
    remedy: str
    line: int | None = None


class HubError(Exception):
    """Base of what can go wrong in a call to the hub. `detail` is one sentence; `mistakes` name fields and remedies."""

    status: ClassVar[HTTPStatus] = HTTPStatus.INTERNAL_SERVER_ERROR
    title: ClassVar[str] = "The hub failed"

    def __init__(self, detail: str, mistakes: Sequence[Mistake] = ()) -> None:
        super().__init__(detail)
        self.detail = detail
        self.mistakes = tuple(mistakes)


class NotFoundError(HubError):
    """Nothing has that id. Raised as `NotFoundError("node", "bay-01")`."""

    status = HTTPStatus.NOT_FOUND
    title = "Not found"

    def __init__(self, noun: str, identifier: str) -> None:
        super().__init__(f"there is no {noun} {identifier!r}; list the {noun}s to see what there is")
        self.noun = noun
        self.identifier = identifier


class InvalidError(HubError):
    """The input has mistakes; every one that was found is in `mistakes`."""

    status = HTTPStatus.UNPROCESSABLE_ENTITY
    title = "Invalid input"


class ConflictError(HubError):
    """The call contradicts the state that the hub is in."""

    status = HTTPStatus.CONFLICT
    title = "Conflict"


class StaleError(HubError):
    """Someone changed it since it was read: the ETag given does not match."""

    status = HTTPStatus.PRECONDITION_FAILED
    title = "Changed since it was read"


class PreconditionNeededError(HubError):
    """A write came without If-Match or If-None-Match."""

    status = HTTPStatus.PRECONDITION_REQUIRED
    title = "Precondition needed"


class UnauthorisedError(HubError):
    """No token, or one that the hub does not know."""

    status = HTTPStatus.UNAUTHORIZED
    title = "A token is needed"


class NameNeededError(HubError):
    """The call is for a person who can be told from others, and the token was made for nobody in particular."""

    status = HTTPStatus.FORBIDDEN
    title = "A token with a name is needed"

    def __init__(self) -> None:
        super().__init__(
            "your token does not say who you are; `stringcourse token new --name NAME` makes one that does"
        )


class UnavailableError(HubError):
    """A part that the call needs (the broker, say) is not there just now."""

    status = HTTPStatus.SERVICE_UNAVAILABLE
    title = "Not available now"

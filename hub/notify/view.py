"""Destinations and notices as the API shows them: without URLs and keys."""

from typing import Annotated

from pydantic import BaseModel, Field, TypeAdapter

from hub.notify.destination import DestinationKind, LocalTime, Route
from hub.notify.models import Destination, Notice
from hub.notify.notice import About, NoticeState
from schemas.contract import Id

ROUTES: TypeAdapter[tuple[Route, ...]] = TypeAdapter(tuple[Route, ...])


class DestinationView(BaseModel):
    """A destination, and how it went there of late."""

    id: Id
    title: str
    kind: DestinationKind
    address: str = Field(description="What may be shown of its URL, such as https://receiver.example.org/…")
    routes: tuple[Route, ...]
    digest_at: LocalTime | None
    made_at_ms: int
    waiting: int = Field(description="Notices that wait for their hours or their next attempt.")
    dead: int = Field(description="Notices that were given up: see the notices with the state `dead`.")
    delivered_at_ms: int | None = Field(description="When something last arrived there.")
    failed_at_ms: int | None = Field(description="When an attempt last failed.")
    last_error: str | None = Field(description="Why it failed; null once something arrived again.")


class Destinations(BaseModel):
    """Every destination of a venue."""

    items: list[DestinationView]


class SigningKey(BaseModel):
    """What a webhook's receiver checks signatures with (RFC 9421, hmac-sha256)."""

    key_id: str = Field(description="`keyid` of the signature.")
    key: str = Field(description="The shared key, Base64. It is shown this once.")


class MadeDestination(BaseModel):
    """A destination that was added, and, of a webhook, its key."""

    destination: DestinationView
    signing_key: SigningKey | None


class Tested(BaseModel):
    """How a test message went."""

    delivered: bool
    said: Annotated[str, Field(description="That it arrived, or why not and what to do.")]
    took_ms: int


class NoticeView(BaseModel):
    """Something to tell a destination, or told."""

    id: str
    destination: Id
    about: About
    finding: str | None
    state: NoticeState
    subject: str
    text: str
    made_at_ms: int
    due_at_ms: int = Field(description="When it is tried next, or was.")
    attempts: int
    last_error: str | None
    settled_at_ms: int | None = Field(description="When it was delivered, given up or withdrawn.")


def view_of_destination(row: Destination, waiting: int, dead: int) -> DestinationView:
    return DestinationView(
        id=row.id,
        title=row.title,
        kind=DestinationKind(row.kind),
        address=row.shown_address,
        routes=ROUTES.validate_json(row.routes),
        digest_at=row.digest_at,
        made_at_ms=row.made_at_ms,
        waiting=waiting,
        dead=dead,
        delivered_at_ms=row.delivered_at_ms,
        failed_at_ms=row.failed_at_ms,
        last_error=row.last_error,
    )


def view_of_notice(row: Notice) -> NoticeView:
    return NoticeView(
        id=str(row.id),
        destination=row.destination,
        about=About(row.about),
        finding=None if row.finding is None else str(row.finding),
        state=NoticeState(row.state),
        subject=row.subject,
        text=row.text,
        made_at_ms=row.made_at_ms,
        due_at_ms=row.due_at_ms,
        attempts=row.attempts,
        last_error=row.last_error,
        settled_at_ms=row.settled_at_ms,
    )

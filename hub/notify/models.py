"""Tables of notification: who is told, what is to be told or was, and up to where changes of findings were read."""

from sqlalchemy import BigInteger, Column, Index, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

from hub.notify.notice import About, Message, NoticeState
from hub.row_number import row_number

MAX_ERROR = 400
MAX_SUBJECT = 200


class Destination(SQLModel, table=True):
    """Somebody who is told. `url` and `signing_key` are secrets: neither leaves the hub but to be used."""

    __tablename__ = "notify_destination"

    venue: str = Field(primary_key=True, max_length=40)
    id: str = Field(primary_key=True, max_length=40)
    title: str = Field(max_length=80)
    kind: str = Field(max_length=20)
    url: str = Field(sa_column=Column(Text, nullable=False))
    shown_address: str = Field(max_length=120)
    """What may be shown of the URL."""
    signing_key: str | None = Field(default=None, max_length=100)
    """Base64 of the key that signs, for webhooks."""
    routes: str = Field(sa_column=Column(Text, nullable=False))
    """A JSON list of `Route`."""
    digest_at: str | None = Field(default=None, max_length=5)
    digested_day: str | None = Field(default=None, max_length=10)
    """The venue's local day on which the last digest was made, YYYY-MM-DD."""
    made_at_ms: int = Field(sa_type=BigInteger)
    delivered_at_ms: int | None = Field(default=None, sa_type=BigInteger)
    failed_at_ms: int | None = Field(default=None, sa_type=BigInteger)
    last_error: str | None = Field(default=None, max_length=MAX_ERROR)


class Notice(SQLModel, table=True):
    """Something to tell one destination, or told. Made in the transaction that moves the cursor past its change."""

    __tablename__ = "notify_notice"
    __table_args__ = (
        UniqueConstraint("venue", "destination", "about", "finding"),
        Index("ix_notify_notice_state_due_at_ms", "state", "due_at_ms"),
    )

    id: int | None = Field(default=None, sa_column=row_number())
    venue: str = Field(max_length=40)
    destination: str = Field(max_length=40)
    about: str = Field(max_length=20)
    finding: int | None = Field(default=None, sa_type=BigInteger, index=True)
    key: str = Field(max_length=32)
    """Random, the same at every attempt: receivers tell by it what they have already."""
    state: str = Field(max_length=20)
    subject: str = Field(max_length=MAX_SUBJECT)
    text: str = Field(sa_column=Column(Text, nullable=False))
    document: str = Field(sa_column=Column(Text, nullable=False))
    """The body of a webhook, JSON."""
    made_at_ms: int = Field(sa_type=BigInteger)
    due_at_ms: int = Field(sa_type=BigInteger)
    attempts: int = 0
    tried_at_ms: int | None = Field(default=None, sa_type=BigInteger)
    """When it was first tried."""
    last_error: str | None = Field(default=None, max_length=MAX_ERROR)
    settled_at_ms: int | None = Field(default=None, sa_type=BigInteger)
    """When it was delivered, given up or withdrawn."""


class Cursor(SQLModel, table=True):
    """Up to which change of findings, by its id, one reader of them has made its notices."""

    __tablename__ = "notify_cursor"

    reader: str = Field(primary_key=True, max_length=20)
    change: int = Field(sa_type=BigInteger)


def waiting_notice(
    venue: str,
    destination: str,
    about: About,
    message: Message,
    now_ms: int,
    due_ms: int,
    finding: int | None = None,
    row_id: int | None = None,
) -> Notice:
    """A notice that was never tried, in the place of the row `row_id` where there is one."""
    return Notice(
        id=row_id,
        venue=venue,
        destination=destination,
        about=about,
        finding=finding,
        key=message.key,
        state=NoticeState.WAITING,
        subject=message.subject,
        text=message.text,
        document=message.document,
        made_at_ms=now_ms,
        due_at_ms=due_ms,
    )

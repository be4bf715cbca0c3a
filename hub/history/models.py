"""Tables of history, its figures packed: a row holds what many told in a second, or one told in an hour or a day."""

from sqlalchemy import Index, LargeBinary, UniqueConstraint
from sqlmodel import Field, SQLModel

from hub.row_number import row_number


class HistorySubject(SQLModel, table=True):
    """A node, supply or venue that has a history, by a number."""

    __tablename__ = "history_subject"
    __table_args__ = (UniqueConstraint("venue", "kind", "name"),)

    id: int | None = Field(default=None, primary_key=True)
    venue: str = Field(max_length=40)
    kind: str = Field(max_length=10)
    name: str = Field(max_length=40)


class HistoryJournal(SQLModel, table=True):
    """Samples of an hour (since 1970) that is not over yet, as they came: `hub.history.samples.SAMPLE`, one by one.

    Subjects are dealt out over shards by their number, so that one subject's samples, or those of a part of all
    subjects, are read without the rest.
    """

    __tablename__ = "history_journal"
    __table_args__ = (Index("ix_history_journal_shard_hour", "shard", "hour"),)

    id: int | None = Field(default=None, sa_column=row_number())
    shard: int
    hour: int
    samples: int
    payload: bytes = Field(sa_type=LargeBinary)


class HistoryBlock(SQLModel, table=True):
    """A subject's rows of one level (`hub.history.levels`), the `block`-th hour or day since 1970."""

    __tablename__ = "history_block"
    __table_args__ = (Index("ix_history_block_level_block", "level", "block"),)

    subject: int = Field(primary_key=True)
    level: int = Field(primary_key=True)
    block: int = Field(primary_key=True)
    payload: bytes = Field(sa_type=LargeBinary)

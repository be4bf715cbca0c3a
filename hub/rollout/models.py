"""Tables of rollouts: the venue as it was rolled out, and each revision with its state."""

from enum import StrEnum

from sqlalchemy import BigInteger, Column, Text
from sqlmodel import Field, SQLModel

from schemas.bounds import MAX_TITLE


class RolloutState(StrEnum):
    """Where a rollout is: being staged; taken at its show time; or halted, with nothing changed."""

    STAGING = "staging"
    TAKEN = "taken"
    HALTED = "halted"


class VenueSnapshot(SQLModel, table=True):
    """A venue's whole document under its hash; desired documents are compiled from it, the same every time."""

    __tablename__ = "venue_snapshot"

    sha256: str = Field(primary_key=True, max_length=64)
    document: str = Field(sa_column=Column(Text, nullable=False))


class Rollout(SQLModel, table=True):
    """One revision of a venue: which snapshot and scene it stands for, and how its rollout went."""

    __tablename__ = "rollout"

    venue: str = Field(primary_key=True, max_length=40)
    revision: int = Field(primary_key=True, sa_type=BigInteger)
    snapshot_sha256: str = Field(foreign_key="venue_snapshot.sha256", max_length=64)
    scene: str | None = Field(default=None, max_length=40)
    state: RolloutState
    fade_ms: int
    started_at_ms: int = Field(sa_type=BigInteger)
    ended_at_ms: int | None = Field(default=None, sa_type=BigInteger)
    take_at_ms: int | None = Field(default=None, sa_type=BigInteger)
    nodes_expected: int
    nodes_staged: int = 0
    reason: str | None = Field(default=None, sa_column=Column(Text))
    refusals: str = Field(default="[]", sa_column=Column(Text, nullable=False))
    flash_confirmed_by: str | None = Field(default=None, max_length=MAX_TITLE)

"""Tables of rollouts: the venue as it was rolled out, and each revision with its state."""

from enum import StrEnum

from sqlalchemy import BigInteger, Column, Enum, Text
from sqlmodel import Field, SQLModel

from schemas.bounds import MAX_TITLE


class RolloutState(StrEnum):
    """Where a rollout is."""

    PLANNED = "planned"
    """It waits for its turn, or for a second person's approval."""
    STAGING = "staging"
    """The nodes of the batch are given its documents."""
    STAGED = "staged"
    """All of them hold it: it waits for a person's go, for its take time, or to be resumed."""
    SOAKING = "soaking"
    """A batch was taken and is watched before anything follows."""
    TAKEN = "taken"
    """In force for the whole venue."""
    HALTED = "halted"
    """Stopped. Batches that were taken stay as they are until a person or the next rollout says otherwise."""
    REVERTED = "reverted"
    """Stopped, and a later revision has put back what was in force before."""


UNDER_WAY = (RolloutState.STAGING, RolloutState.STAGED, RolloutState.SOAKING)


class Conduct(StrEnum):
    """What a rollout does about nodes that refuse or do not answer."""

    STRICT = "strict"
    """They count against `failures_share` of the plan, and beyond it nothing changes anywhere."""
    LENIENT = "lenient"
    """They are left out, and follow when they can: it puts back or carries on what they hold already."""
    AT_ONCE = "at once"
    """The same, and they are waited for no longer than a moment."""


class VenueSnapshot(SQLModel, table=True):
    """A venue's whole document under its hash; desired documents are compiled from it, the same every time."""

    __tablename__ = "venue_snapshot"

    sha256: str = Field(primary_key=True, max_length=64)
    document: str = Field(sa_column=Column(Text, nullable=False))


class Rollout(SQLModel, table=True):
    """One revision of a venue: what it stands for, how it is rolled out, and how that goes.

    Rows of hubs before 0013 lack `plan`, `choices` and `back_to`; readers know what that means.
    """

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
    plan: str | None = Field(default=None, sa_column=Column(Text))
    choices: str | None = Field(default=None, sa_column=Column(Text))
    batches: str = Field(default="[]", sa_column=Column(Text, nullable=False))
    """Ids of the nodes of each batch; an empty list is one batch of every node."""
    takes_ms: str = Field(default="[]", sa_column=Column(Text, nullable=False))
    """Show times at which batches were taken, in order: as many as were decided."""
    conduct: Conduct = Field(
        default=Conduct.STRICT, sa_column=Column(Enum(Conduct, native_enum=False, length=16), nullable=False)
    )
    paused: bool = False
    awaits_approval: bool = False
    requested_by: str | None = Field(default=None, max_length=MAX_TITLE)
    approved_by: str | None = Field(default=None, max_length=MAX_TITLE)
    planned_as: int | None = Field(default=None, sa_type=BigInteger)
    """The revision under which it waited, where others were taken in the meantime."""
    reverts: int | None = Field(default=None, sa_type=BigInteger)
    """The revision that this one takes back."""
    back_to: int | None = Field(default=None, sa_type=BigInteger)
    """The revision that `back` takes once this one is in force; 0 where there is none."""

"""The table of cue lists in hand: which list a venue runs by, and where it stands."""

from sqlalchemy import BigInteger, Column, Text
from sqlmodel import Field, SQLModel


class CueListInHand(SQLModel, table=True):
    """A venue's list in hand. Where it stands at a time follows from this row alone: see `hub.cues.standing`."""

    __tablename__ = "cue_list_in_hand"

    venue: str = Field(primary_key=True, max_length=40)
    document: str = Field(sa_column=Column(Text, nullable=False))
    """The list as it was when its last cue was taken by hand: what follows by itself is out already."""
    taken: int
    """Place in the list of the cue that was last taken by hand, from 0; -1 before the first."""
    follows_to: int
    """Place of the last cue that follows by itself, without another `go`; that of the cue taken where none does."""
    taken_at_ms: int | None = Field(sa_type=BigInteger)
    """Show time from which the cues that follow by themselves are counted."""
    revision: int | None = Field(sa_type=BigInteger)
    """The rollout that took that cue."""
    left_at_ms: int | None = Field(sa_type=BigInteger)
    """When something else was taken in between; what would have followed then does not."""

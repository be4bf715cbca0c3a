"""The table of findings: something wrong, with a start, evidence and an end."""

from enum import StrEnum

from sqlalchemy import BigInteger, Column, Integer, Text
from sqlmodel import Field, SQLModel


class FindingKind(StrEnum):
    """What can be wrong with a node in this version."""

    SILENT = "silent"
    OVERLOADED = "overloaded"
    SLOW = "slow"
    BEHIND = "behind"
    SKEWED = "skewed"
    CLOCK_UNTRUSTED = "clock-untrusted"
    CLOCKS_APART = "clocks-apart"


class Finding(SQLModel, table=True):
    """One finding. Open while `ended_at_ms` is null; `evidence` is a JSON object of measured figures."""

    __tablename__ = "finding"

    # SQLite counts rows in 64 bits only where the type is named INTEGER.
    id: int | None = Field(
        default=None, sa_column=Column(BigInteger().with_variant(Integer, "sqlite"), primary_key=True)
    )
    venue: str = Field(index=True, max_length=40)
    kind: FindingKind
    node: str = Field(index=True, max_length=40)
    supply: str | None = Field(default=None, max_length=40)
    started_at_ms: int = Field(sa_type=BigInteger, index=True)
    ended_at_ms: int | None = Field(default=None, sa_type=BigInteger, index=True)
    message: str = Field(max_length=400)
    next_check: str = Field(max_length=400)
    evidence: str = Field(sa_column=Column(Text, nullable=False))

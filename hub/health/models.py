"""The tables of findings: something wrong, with a start, evidence and an end; what happened to each; planned work."""

from enum import StrEnum

from sqlalchemy import BigInteger, Column, Enum, Text
from sqlmodel import Field, SQLModel

from hub.health.kinds import CauseKind, Change, FindingKind, Severity
from hub.row_number import row_number


def _word(words: type[StrEnum], length: int) -> Enum:
    # Plain text in the database, so that a new word needs no migration.
    return Enum(
        words, native_enum=False, length=length, values_callable=lambda members: [member.value for member in members]
    )


class Finding(SQLModel, table=True):
    """One finding. Open while `ended_at_ms` is null; `evidence` is a JSON object, `cautions` a JSON list of sentences.

    `subject` is what it is about, by its kind: a node, a supply, an id that nobody knows, the venue. A finding that
    stands for several nodes names what they share in `cause_kind` and `cause`; theirs name it in `folded_into`, as
    those do that another of their node explains.
    """

    __tablename__ = "finding"

    id: int | None = Field(default=None, sa_column=row_number())
    venue: str = Field(index=True, max_length=40)
    kind: FindingKind = Field(sa_type=_word(FindingKind, 40))
    severity: Severity = Field(sa_type=_word(Severity, 10))
    subject: str = Field(max_length=80)
    node: str | None = Field(default=None, index=True, max_length=40)
    supply: str | None = Field(default=None, max_length=40)
    cause_kind: CauseKind | None = Field(default=None, sa_type=_word(CauseKind, 10))
    cause: str | None = Field(default=None, max_length=40)
    folded_into: int | None = Field(default=None, sa_type=BigInteger, index=True)
    started_at_ms: int = Field(sa_type=BigInteger, index=True)
    opened_at_ms: int = Field(sa_type=BigInteger)
    ended_at_ms: int | None = Field(default=None, sa_type=BigInteger, index=True)
    openings: int = 1
    message: str = Field(max_length=400)
    likely_cause: str = Field(max_length=400)
    next_check: str = Field(max_length=400)
    cautions: str = Field(sa_column=Column(Text, nullable=False))
    evidence: str = Field(sa_column=Column(Text, nullable=False))
    acknowledged_at_ms: int | None = Field(default=None, sa_type=BigInteger)
    acknowledged_by: str | None = Field(default=None, max_length=80)
    note: str | None = Field(default=None, max_length=400)
    muted_by: int | None = Field(default=None, sa_type=BigInteger)


class FindingChange(SQLModel, table=True):
    """One change of one finding, never altered: its history, and the queue that notification reads by `id`.

    Written in the transaction that changes the finding. `by` is a person's name, or null for the hub itself.
    """

    __tablename__ = "finding_change"

    id: int | None = Field(default=None, sa_column=row_number())
    venue: str = Field(max_length=40)
    finding: int = Field(sa_type=BigInteger, index=True)
    at_ms: int = Field(sa_type=BigInteger)
    change: Change = Field(sa_type=_word(Change, 20))
    by: str | None = Field(default=None, max_length=80)
    note: str | None = Field(default=None, max_length=400)


class Mute(SQLModel, table=True):
    """Planned work: findings of these nodes, zones and kinds (JSON lists; empty is all) are told to nobody."""

    __tablename__ = "finding_mute"

    id: int | None = Field(default=None, sa_column=row_number())
    venue: str = Field(index=True, max_length=40)
    nodes: str = Field(sa_column=Column(Text, nullable=False))
    zones: str = Field(sa_column=Column(Text, nullable=False))
    kinds: str = Field(sa_column=Column(Text, nullable=False))
    from_ms: int = Field(sa_type=BigInteger)
    until_ms: int = Field(sa_type=BigInteger, index=True)
    reason: str = Field(max_length=400)
    made_at_ms: int = Field(sa_type=BigInteger)
    made_by: str | None = Field(default=None, max_length=80)
    lifted_at_ms: int | None = Field(default=None, sa_type=BigInteger)
    lifted_by: str | None = Field(default=None, max_length=80)

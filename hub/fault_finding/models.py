"""The table of guided fault findings: each a search for one fault, with every answer."""

from sqlalchemy import BigInteger, Column, Text
from sqlmodel import Field, SQLModel

from hub.row_number import row_number


class FaultFinding(SQLModel, table=True):
    """One search. `steps` is a JSON list of answers, `diagnosis` a JSON object once there is one.

    `step` is where it stands in the tree; `changes` counts up, so that of two answers at once only one counts.
    """

    __tablename__ = "fault_finding"

    id: int | None = Field(default=None, sa_column=row_number())
    venue: str = Field(index=True, max_length=40)
    node: str = Field(max_length=40)
    channel: int | None = None
    symptom: str | None = Field(default=None, max_length=40)
    step: str = Field(max_length=60)
    steps: str = Field(default="[]", sa_column=Column(Text, nullable=False))
    diagnosis: str | None = Field(default=None, sa_column=Column(Text, nullable=True))
    shown_at_ms: int | None = Field(default=None, sa_type=BigInteger)
    not_shown: str | None = Field(default=None, max_length=400)
    begun_at_ms: int = Field(sa_type=BigInteger)
    begun_by: str | None = Field(default=None, max_length=80)
    ended_at_ms: int | None = Field(default=None, sa_type=BigInteger)
    ended_by: str | None = Field(default=None, max_length=80)
    mended: bool | None = None
    note: str | None = Field(default=None, max_length=400)
    changes: int = 0

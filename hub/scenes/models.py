"""The table of flash checks that were made."""

from sqlalchemy import BigInteger, Column, Text
from sqlmodel import Field, SQLModel


class FlashCheck(SQLModel, table=True):
    """A report under the hash of all that it rests on. The oldest go when there are too many."""

    __tablename__ = "flash_check"

    sha256: str = Field(primary_key=True, max_length=64)
    made_at_ms: int = Field(sa_type=BigInteger)
    report: str = Field(sa_column=Column(Text, nullable=False))

"""Tables of the ledger: newest grant and confirmation of each node, each share, and whether shares are in doubt."""

from sqlalchemy import BigInteger
from sqlmodel import Field, SQLModel


class BudgetLedger(SQLModel, table=True):
    """A venue's ledger. `doubted`: nodes hold what it did not give them."""

    __tablename__ = "budget_ledger"

    venue: str = Field(primary_key=True, max_length=40)
    doubted: bool


class BudgetNode(SQLModel, table=True):
    """A node of the ledger. Kept when the node leaves the venue: its numbers are never used again."""

    __tablename__ = "budget_node"

    venue: str = Field(primary_key=True, max_length=40)
    node: str = Field(primary_key=True, max_length=40)
    number: int = Field(sa_type=BigInteger)
    confirmed: int = Field(sa_type=BigInteger)
    boot_id: str | None = Field(max_length=32)
    heard: bool
    known: bool
    released: bool


class BudgetShare(SQLModel, table=True):
    """What a node was last granted of a supply, and the most that it may still be under."""

    __tablename__ = "budget_share"

    venue: str = Field(primary_key=True, max_length=40)
    supply: str = Field(primary_key=True, max_length=40)
    node: str = Field(primary_key=True, max_length=40)
    granted_ma: int
    reserved_ma: int

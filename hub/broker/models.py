"""The table of node credentials. Only a hash is kept; the secret exists on the board alone."""

from sqlalchemy import BigInteger
from sqlmodel import Field, SQLModel


class NodeCredentialRecord(SQLModel, table=True):
    """The credential last issued to a node: its broker user and the bcrypt hash of its secret."""

    __tablename__ = "node_credential"

    venue: str = Field(primary_key=True, max_length=40)
    node: str = Field(primary_key=True, max_length=40)
    username: str = Field(unique=True, max_length=90)
    secret_hash: str = Field(max_length=100)
    issued_at_ms: int = Field(sa_type=BigInteger)

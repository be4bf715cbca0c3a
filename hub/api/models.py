"""The table of access tokens for API and page. Only a SHA-256 is kept: the token is random enough not to need more."""

from sqlalchemy import BigInteger
from sqlmodel import Field, SQLModel


class AccessToken(SQLModel, table=True):
    """One token, printed once when it was made."""

    __tablename__ = "access_token"

    sha256: str = Field(primary_key=True, max_length=64)
    made_at_ms: int = Field(sa_type=BigInteger)

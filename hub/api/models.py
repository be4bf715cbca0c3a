"""The table of access tokens for API and page. Only a SHA-256 is kept: the token is random enough not to need more."""

from sqlalchemy import BigInteger
from sqlmodel import Field, SQLModel

from schemas.bounds import MAX_TITLE


class AccessToken(SQLModel, table=True):
    """One token, printed once when it was made, and the person whom it was made for."""

    __tablename__ = "access_token"

    sha256: str = Field(primary_key=True, max_length=64)
    made_at_ms: int = Field(sa_type=BigInteger)
    name: str | None = Field(default=None, max_length=MAX_TITLE)

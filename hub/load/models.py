"""The table of load: how long each supply carried how many amps, by day."""

from sqlalchemy import BigInteger
from sqlmodel import Field, SQLModel


class LoadDay(SQLModel, table=True):
    """A supply's total amps on a day (UTC, YYYY-MM-DD) at one rating: a histogram of time. Kept for 30 days.

    `seconds` holds little-endian 32-bit floats, one for each bin of `hub.load.histogram`.
    """

    __tablename__ = "load_day"

    venue: str = Field(primary_key=True, max_length=40)
    supply: str = Field(primary_key=True, max_length=40)
    day: str = Field(primary_key=True, max_length=10)
    rated_ma: int = Field(primary_key=True, sa_type=BigInteger)
    seconds: bytes
    highest_a: float

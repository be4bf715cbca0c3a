"""Tables of telemetry: raw samples for a day, and the highest amps that each supply ever carried."""

from sqlalchemy import BigInteger, Column, Integer
from sqlmodel import Field, SQLModel


class TelemetrySample(SQLModel, table=True):
    """One telemetry message of one node, as figures. Kept raw for a day."""

    __tablename__ = "telemetry_sample"

    # SQLite counts rows in 64 bits only where the type is named INTEGER.
    id: int | None = Field(
        default=None, sa_column=Column(BigInteger().with_variant(Integer, "sqlite"), primary_key=True)
    )
    venue: str = Field(max_length=40)
    node: str = Field(max_length=40)
    heard_at_ms: int = Field(sa_type=BigInteger, index=True)
    revision: int | None = Field(default=None, sa_type=BigInteger)
    frame_rate_hz: float
    late_frames: int = Field(sa_type=BigInteger)
    render_ms: float
    amps: float
    limiter_scale: float
    temperature_c: float | None = None
    clock_offset_ms: float | None = None


class SupplyPeak(SQLModel, table=True):
    """Highest amps that a node reported for a supply on a day (UTC, YYYY-MM-DD)."""

    __tablename__ = "supply_peak"

    venue: str = Field(primary_key=True, max_length=40)
    supply: str = Field(primary_key=True, max_length=40)
    node: str = Field(primary_key=True, max_length=40)
    day: str = Field(primary_key=True, max_length=10)
    highest_a: float

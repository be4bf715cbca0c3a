"""The table of telemetry: raw samples of a day."""

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

"""Samples as rows: built for each message on the fleet loop's thread, inserted many at a time on another.

The insert goes past SQLAlchemy's handling of each parameter, which costs more than the database does.
"""

from typing import Final

from sqlalchemy import Connection, Engine, insert

from hub.telemetry.models import TelemetrySample
from schemas import Telemetry

_TABLE = TelemetrySample.__table__  # type: ignore[attr-defined]
COLUMNS: Final = tuple(column.name for column in _TABLE.columns if column.name != "id")

SampleRow = tuple[str, str, int, int | None, float, int, float, float, float, float | None, float | None]


def sample_row(venue: str, node: str, heard_at_ms: int, telemetry: Telemetry) -> SampleRow:
    """The figures of one message in the order of `COLUMNS`: amps summed over supplies, the lowest limiter scale."""
    amps, scale = 0.0, 1.0
    for supply in telemetry.supplies:
        amps += supply.amps
        scale = min(scale, supply.limiter_scale)
    return (
        venue,
        node,
        heard_at_ms,
        telemetry.revision,
        telemetry.frame_rate_hz,
        telemetry.late_frames,
        telemetry.render_ms,
        amps,
        scale,
        telemetry.temperature_c,
        telemetry.clock_offset_ms,
    )


class SampleInsert:
    """One prepared INSERT for the engine's kind of database."""

    def __init__(self, engine: Engine) -> None:
        compiled = insert(_TABLE).compile(dialect=engine.dialect, column_keys=list(COLUMNS))
        self._sql = str(compiled)
        self._by_place = bool(compiled.positional)

    def execute(self, connection: Connection, rows: list[SampleRow]) -> None:
        if self._by_place:
            connection.exec_driver_sql(self._sql, rows)
        else:
            connection.exec_driver_sql(self._sql, [dict(zip(COLUMNS, row, strict=True)) for row in rows])

"""History as API, CSV and command line show it."""

import csv
import io
import math
from datetime import UTC, datetime

import numpy as np
from pydantic import BaseModel, Field

from hub.history.block import Figures
from hub.history.levels import HistoryLevel
from hub.history.quantities import MEASURES, Quantity, SubjectKind
from hub.history.series import Series


class QuantitySeries(BaseModel):
    """One quantity; each list has a value for each of `at_ms`, null where nothing was told."""

    quantity: Quantity
    unit: str = Field(description="Such as A, Hz, ms, °C, dBm; `share` is from 0 to 1.")
    about: str = Field(description="What it is.")
    low: list[float | None] = Field(description="The lowest within each point's time.")
    mean: list[float | None]
    high: list[float | None] = Field(description="The highest within each point's time.")


class HistorySeries(BaseModel):
    """Figures of one subject over time, at evenly spaced points."""

    venue: str
    subject_kind: SubjectKind
    subject: str
    level: HistoryLevel = Field(description="What the points are made from: every sample, minutes or hours.")
    from_ms: int
    until_ms: int
    period_ms: int = Field(description="How long each point is.")
    at_ms: list[int] = Field(description="Where each point's time begins, `period_ms` apart; the first may be earlier.")
    quantities: list[QuantitySeries]


def view_of(venue: str, kind: SubjectKind, subject: str, series: Series) -> HistorySeries:
    return HistorySeries(
        venue=venue,
        subject_kind=kind,
        subject=subject,
        level=series.level,
        from_ms=series.from_ms,
        until_ms=series.until_ms,
        period_ms=series.period_ms,
        at_ms=series.at_ms.tolist(),
        quantities=[
            QuantitySeries(
                quantity=quantity,
                unit=MEASURES[quantity].unit,
                about=MEASURES[quantity].about,
                low=_listed(band.low),
                mean=_listed(band.mean),
                high=_listed(band.high),
            )
            for quantity, band in series.bands.items()
        ],
    )


def csv_of(series: Series) -> str:
    """RFC 4180: a line for each point at which anything was told; times in UTC, ISO 8601."""
    table = io.StringIO()
    writer = csv.writer(table)
    names = [
        f"{quantity} {part} ({MEASURES[quantity].unit})"
        for quantity in series.bands
        for part in ("low", "mean", "high")
    ]
    writer.writerow(["at", *names])
    columns = [part for band in series.bands.values() for part in (band.low, band.mean, band.high)]
    for at_ms, values in zip(series.at_ms.tolist(), np.stack(columns, axis=1), strict=True):
        if not np.isnan(values).all():
            at = datetime.fromtimestamp(at_ms / 1_000, UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
            writer.writerow([at, *("" if value is None else value for value in _listed(values))])
    return table.getvalue()


def _listed(values: Figures) -> list[float | None]:
    """With the digits that the steps leave, NaN as None."""
    return [None if math.isnan(value) else value for value in np.round(values, 4).tolist()]

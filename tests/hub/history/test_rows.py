"""Many rows into few: low, mean and high, worked out by hand and against plain Python."""

import math
from statistics import fmean

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from hub.history.levels import HOUR_MS, MINUTE_MS, HistoryLevel, packed, unpacked
from hub.history.quantities import COLUMN, COLUMNS, Quantity
from hub.history.rows import Rows

AMPS = COLUMN[Quantity.AMPS]


def amps(*samples: tuple[int, float]) -> Rows:
    """(at_ms, amps): nothing else is told."""
    values = np.full((len(samples), len(COLUMNS)), np.nan)
    values[:, AMPS] = [value for _, value in samples]
    return Rows.of_samples(np.array([at for at, _ in samples], np.int64), values)


def told(rows: Rows) -> list[tuple[int, float, float, float]]:
    return [(int(at), *figures) for at, figures in zip(rows.at_ms, rows.figures[:, :, AMPS].T.tolist(), strict=True)]


def test_minutes_of_samples() -> None:
    rows = amps((65_000, 3.0), (1_000, 1.0), (59_999, 2.0), (60_000, math.nan), (185_000, 7.0), (130_000, math.nan))
    minutes = rows.by(MINUTE_MS)
    assert told(minutes)[:2] == [(0, 1.0, 1.5, 2.0), (60_000, 3.0, 3.0, 3.0)]
    assert math.isnan(told(minutes)[2][1])
    assert told(minutes)[3] == (180_000, 7.0, 7.0, 7.0)


def test_minutes_of_an_hour_count_alike_however_many_samples_they_have() -> None:
    often = [(second * 1_000, 4.0) for second in range(60)]
    assert told(amps(*often, (90_000, 1.0)).by(MINUTE_MS).by(HOUR_MS)) == [(0, 1.0, 2.5, 4.0)]


def test_no_rows_stay_none() -> None:
    assert told(Rows.none().by(MINUTE_MS)) == []
    assert told(Rows.joined([])) == []


@given(st.lists(st.tuples(st.integers(0, 600_000), st.floats(0, 1_000)), min_size=1, max_size=60))
def test_pooled_rows_are_what_plain_python_finds(samples: list[tuple[int, float]]) -> None:
    by_minute: dict[int, list[float]] = {}
    for at_ms, value in samples:
        by_minute.setdefault(at_ms // MINUTE_MS * MINUTE_MS, []).append(value)
    expected = [(at, min(some), fmean(some), max(some)) for at, some in sorted(by_minute.items())]
    for (at, *figures), (wanted_at, *wanted) in zip(told(amps(*samples).by(MINUTE_MS)), expected, strict=True):
        assert at == wanted_at
        np.testing.assert_allclose(figures, wanted)


@given(st.lists(st.tuples(st.integers(0, HOUR_MS - 1), st.floats(0, 100)), min_size=1, max_size=60))
def test_blocks_keep_low_mean_and_high_in_their_order_to_a_step(samples: list[tuple[int, float]]) -> None:
    minutes = amps(*samples).by(MINUTE_MS)
    found = unpacked(HistoryLevel.MINUTE, 5, packed(HistoryLevel.MINUTE, minutes))
    assert found.at_ms.tolist() == (minutes.at_ms + 5 * HOUR_MS).tolist()
    low, mean, high = found.figures[:, :, AMPS]
    assert (low <= mean).all()
    assert (mean <= high).all()
    assert np.abs(found.figures - minutes.figures)[:, :, AMPS].max() <= 0.0101

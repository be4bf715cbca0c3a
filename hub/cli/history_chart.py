"""A small chart of letters: where the mean was, and between which values it moved. Pure."""

from collections.abc import Callable, Iterator, Sequence
from typing import Final

HEIGHT: Final = 9
MEAN, BAND, NOTHING = "o", "|", " "

Values = Sequence[float | None]
RowOf = Callable[[float], int]


def chart(low: Values, mean: Values, high: Values) -> Iterator[str]:
    """Lines from top to bottom, a column a point; an empty column is where nothing was told."""
    lowest = min((value for value in low if value is not None), default=0.0)
    highest = max((value for value in high if value is not None), default=0.0)
    span = (highest - lowest) or 1.0
    middle = highest == lowest  # one value only: in the middle, with its figure beside it

    def row_of(value: float) -> int:
        return HEIGHT // 2 if middle else round((highest - value) / span * (HEIGHT - 1))

    columns = [_column(*point, row_of) for point in zip(low, mean, high, strict=True)]
    figures = {HEIGHT // 2: highest} if middle else {0: highest, HEIGHT - 1: lowest}
    width = max(len(_figure(value)) for value in figures.values())
    for row in range(HEIGHT):
        figure = _figure(figures[row]) if row in figures else ""
        yield f"{figure:>{width}} {''.join(column[row] for column in columns)}".rstrip()


def _column(low: float | None, mean: float | None, high: float | None, row_of: RowOf) -> list[str]:
    cells = [NOTHING] * HEIGHT
    if low is None or mean is None or high is None:
        return cells
    for row in range(row_of(high), row_of(low) + 1):
        cells[row] = BAND
    cells[row_of(mean)] = MEAN
    return cells


def _figure(value: float) -> str:
    return f"{value:.4g}"

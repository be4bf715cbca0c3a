"""Places along a line, in order, near where they are wanted and no nearer to each other than they must."""

from collections.abc import Sequence


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Places in `low`..`high` for `wanted`, which ascends, at least `gap` apart.

    Where the line is too short for that, they are spread evenly over it.
    """
    count = len(wanted)
    if count > 1 and (count - 1) * gap >= high - low:
        return [low + place * (high - low) / (count - 1) for place in range(count)]
    places: list[float] = []
    for place in wanted:
        places.append(max(place, low if not places else places[-1] + gap))
    limit = high
    for index in range(count - 1, -1, -1):
        places[index] = min(places[index], limit)
        limit = places[index] - gap
    return places

"""Venues of one node, made by hypothesis: every number of channels, feeds, cuts and supplies that a venue may have."""

from typing import Any

from hypothesis import strategies as st

from schemas import PIXEL_CATALOGUE, Venue
from tests.hub.desired.venues import venue_from

IDS = st.from_regex(r"[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?", fullmatch=True)
PINS = st.from_regex(r"[a-z0-9][a-z0-9.-]{0,30}", fullmatch=True)
LENGTHS = st.floats(0.01, 500, allow_nan=False).map(lambda length: round(length, 3))


@st.composite
def node_venues(draw: st.DrawFn) -> Venue:
    """A venue whose only node has one to four channels of any pixel type, each with one to 32 feeds."""
    ids = draw(st.lists(IDS, min_size=12, max_size=12, unique=True))
    supplies: dict[str, dict[str, Any]] = {}
    pins = draw(st.lists(PINS, min_size=4, max_size=4, unique=True))
    channels = [
        {"number": number, "pin": pins[number - 1], "run": draw(_runs(ids[1:], supplies))}
        for number in range(1, draw(st.integers(1, 4)) + 1)
    ]
    return venue_from(
        {
            "id": "arcade",
            "title": "Invented arcade",
            "supplies": list(supplies.values()),
            "nodes": [{"id": ids[0], "outputs": 4, "channels": channels}],
        }
    )


@st.composite
def _runs(draw: st.DrawFn, ids: list[str], supplies: dict[str, dict[str, Any]]) -> dict[str, Any]:
    kind = draw(st.sampled_from(list(PIXEL_CATALOGUE.values())))
    pixels = draw(st.integers(1, 4_096))
    places = draw(st.lists(st.integers(0, pixels - 1), min_size=1, max_size=32, unique=True))
    fitting = [one for one in ids if supplies.get(one, {"volts": kind.volts})["volts"] == kind.volts]
    feeds = []
    for place in places:
        supply = draw(st.sampled_from(fitting or ["spare"]))
        supplies.setdefault(
            supply, {"id": supply, "volts": kind.volts, "rated_a": draw(st.sampled_from([0.5, 12, 333.25]))}
        )
        wire: dict[str, Any] = draw(st.sampled_from([{"wire_mm2": 2.5}, {"wire_mm2": 0.123}, {"wire_awg": 18}]))
        fuse: dict[str, Any] = draw(st.sampled_from([{}, {"fuse_a": 7.5}]))
        feeds.append({"supply": supply, "at_pixel": place, "length_m": draw(LENGTHS)} | wire | fuse)
    ordered = sorted(places)
    cuts = [after for after in ordered[1:] if draw(st.booleans())]
    return {
        "pixel_type": kind.key,
        "pixels": pixels,
        "pixels_per_m": draw(st.sampled_from([0.5, 30.0, 144.0])),
        "positive_cut_before": cuts,
        "feeds": feeds,
    }

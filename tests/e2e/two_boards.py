"""An invented front for every look: two boards of different rates, all roles, RGB, RGBW and clocked pixels, and all
that bends a colour on its way to a wire: white balance, trim, white point, master level."""

import json

from hub.looks import LookZones, looks, scene_of
from schemas import Venue

VENUE = "two-boards"
WEST, EAST = "west", "east"
AMPLE_A, TIGHT_A = 100.0, 1.6
"""Rated amps of each board's supply. At full white its pixels draw about 11 A."""

_SIGN_COLUMNS, _SIGN_ROWS = 16, 7
_RATES_HZ = {WEST: 100.0, EAST: 80.0}
_RUNS = {
    WEST: [("rgb-5v-nrz800", 60), ("rgb-5v-nrz800", 30), ("rgb-5v-nrz800", 50), ("rgbw-5v-nrz800", 40)],
    EAST: [("rgb-5v-clocked", 60), ("rgb-5v-nrz800", 30), ("rgb-5v-nrz800", 112), ("rgb-5v-nrz800", 12)],
}
_ROLES = LookZones(
    front="front", lines="band", uprights="posts", openings="arch", accent="lamp", ceiling="ceiling", sign="sign"
)


def two_boards(rated_a: float = AMPLE_A) -> Venue:
    """The front, with every look of the library as a scene."""
    # The band crosses from one board to the other: where it is cut must not show in a single bit.
    zones = [
        {"id": "band", "spans": [_span(WEST, 1, 0, 60, (0, 2.6), (3, 2.6)), _span(EAST, 1, 0, 60, (3, 2.6), (6, 2.6))]},
        {"id": "posts", "spans": [_span(WEST, 2, 0, 30, (0, 0), (0, 2.5)), _span(EAST, 2, 0, 30, (6, 0), (6, 2.5))]},
        {"id": "arch", "spans": [_span(WEST, 3, 0, 50, (1, 0), (1, 1.6), (1.8, 2.3), (2.6, 1.6), (2.6, 0))]},
        {"id": "lamp", "white_point_k": 3200.0, "spans": [_span(EAST, 4, 0, 12, (3.4, 1), (3.8, 1))]},
        {"id": "ceiling", "trim": 0.8, "spans": [_span(WEST, 4, 0, 40, (1, -1), (5, -1))]},
        {"id": "sign", "spans": [_row_of_sign(row) for row in range(_SIGN_ROWS)]},
        {"id": "front", "of": ["band", "posts", "arch", "lamp", "sign"]},
    ]  # fmt: skip
    scenes = [scene_of(look, _ROLES) for look in looks().values()]
    parts = {
        "id": VENUE,
        "title": "Two boards (invented)",
        "opening_scene": scenes[-1].id,  # a take of the scene that shows would go on with the limiter as it is
        "master_level": 0.9,
        "supplies": [{"id": f"{node}-5v", "volts": 5.0, "rated_a": rated_a} for node in _RUNS],
        "nodes": [_node(node) for node in _RUNS],
        "zones": zones,
        "scenes": [json.loads(scene.model_dump_json()) for scene in scenes],
    }
    return Venue.model_validate_json(json.dumps(parts))


def _node(node: str) -> dict[str, object]:
    channels = [
        {
            "number": number,
            "pin": f"spidev{number - 1}.0",
            "run": {
                "pixel_type": kind,
                "pixels": pixels,
                "pixels_per_m": 20.0,
                "white_balance": {"red": 1.0, "green": 0.9, "blue": 0.8, "white": 0.95},
                "feeds": [{"supply": f"{node}-5v", "wire_mm2": 2.5, "length_m": 2.0}],
            },
        }
        for number, (kind, pixels) in enumerate(_RUNS[node], start=1)
    ]
    return {"id": node, "outputs": 4, "frame_rate_limit_hz": _RATES_HZ[node], "channels": channels}


def _span(node: str, channel: int, first: int, pixels: int, *path: tuple[float, float]) -> dict[str, object]:
    return {"node": node, "channel": channel, "first": first, "pixels": pixels, "path": path}


def _row_of_sign(row: int) -> dict[str, object]:
    high_m = 2.0 - 0.1 * row
    return _span(EAST, 3, row * _SIGN_COLUMNS, _SIGN_COLUMNS, (4.0, high_m), (5.6, high_m))

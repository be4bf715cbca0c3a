"""One valid example of each contract that is read from outside, as JSON values; together they hold every contract."""

import copy
import json
from typing import Any, Final

from pydantic import BaseModel

import node_agent.render  # noqa: F401 (a scene is read by the statements of its patterns)
from schemas import (
    Answer,
    Ask,
    Desired,
    DesiredBody,
    Grant,
    NodeCredential,
    Presence,
    Reported,
    Take,
    Telemetry,
    Venue,
    body_sha256,
)

Json = dict[str, Any]

TIMING: Final[Json] = {
    "protocol": "nrz", "t0h_us": 0.4, "t0l_us": 0.85, "t1h_us": 0.8, "t1l_us": 0.45, "tolerance_us": 0.15,
    "reset_us": 50,
}  # fmt: skip
PIXEL_TYPE: Final[Json] = {
    "key": "rgbw-example", "title": "RGBW, invented", "volts": 5, "minimum_volts": 3.5, "colour_order": "GRBW",
    "bits_per_colour": 8, "leds_per_pixel": 1, "current_below_minimum": "unspecified", "timing": TIMING,
    "refresh_hz": 400, "idle_ma": 1, "typical_ma": 20, "full_ma": {"red": 19, "green": 19, "blue": 19, "white": 19},
    "sources": {"otherwise": "invented", "idle_ma": "measured on 2025-03-01"},
}  # fmt: skip
CLOCKED_TYPE: Final[Json] = PIXEL_TYPE | {
    "key": "clocked-example", "colour_order": "BGR", "leds_per_pixel": 3, "current_below_minimum": "falls",
    "sources": {"otherwise": "invented"}, "full_ma": {"red": 20, "green": 20, "blue": 20},
    "timing": {"protocol": "clocked", "clock_mhz": 4, "highest_clock_mhz": 20, "start_bits": 32, "level_bits": 5,
               "end_bits": 32, "end_bits_per_pixel": 0.5},
}  # fmt: skip
SCENE: Final[Json] = {
    "id": "evening",
    "title": "Evening",
    "note": "six patterns, and every form of colour",
    "layers": [
        {"zone": "shelf", "opacity": 1, "pattern": {"pattern": "wash", "colour": "#102030"}},
        {"zone": "shelf", "blend": "add", "time_scale": -0.5, "phase_s": 3,
         "pattern": {"pattern": "wash", "colour": {"linear": [0.1, 0.2, 0.3]}},
         "mask": {"pattern": "wash", "colour": {"kelvin": 2700, "tint_duv": -0.01, "level": 0.5}}},
        {"zone": "shelf", "opacity": 0.5, "pattern": {"pattern": "spot", "colour": "#ffffff", "spans": [{"first": 2}]}},
        {"zone": "shelf", "pattern": {"pattern": "gradient", "along": "x",
                                      "stops": [{"at": 0, "colour": "#000000"}, {"at": 1, "colour": "#ffffff"}]}},
        {"zone": "shelf", "pattern": {"pattern": "chase", "colour": "#ff8000", "length_m": 0.1, "spacing_m": 1,
                                      "tail_m": 0.2, "speed_m_per_s": -0.5}},
        {"zone": "shelf", "pattern": {"pattern": "wave", "crest": "#ff8000", "trough": "#200800", "along": "y",
                                      "wavelength_m": 2, "speed_m_per_s": 0.5}},
        {"zone": "shelf", "pattern": {"pattern": "twinkle", "colour": "#ffffff", "share": 0.2, "period_s": 3,
                                      "seed": 4}},
    ],
}  # fmt: skip
FEED: Final[Json] = {
    "supply": "shelf-5v", "at_pixel": 0, "wire_mm2": 1.5, "length_m": 2, "conductor_c": 40, "fuse_a": 5,
}  # fmt: skip
FEED_BY_GAUGE: Final[Json] = {"supply": "shelf-5v", "at_pixel": 29, "wire_awg": 16, "length_m": 2}
TARIFF: Final[Json] = {"currency": "EUR", "per_kwh": 0.3}
VENUE: Final[Json] = {
    "id": "shop",
    "title": "Shop",
    "note": "invented",
    "opening_scene": "evening",
    "master_level": 0.9,
    "tariff": TARIFF,
    "place": {"latitude_deg": 48.2, "longitude_deg": 16.4},
    "time_zone": "Europe/Vienna",
    "approves_rollouts": True,
    "pixel_types": [PIXEL_TYPE, CLOCKED_TYPE],
    "supplies": [{"id": "shelf-5v", "title": "Shelf", "volts": 5, "rated_a": 4, "derating": 0.8, "output_ohm": 0.01,
                  "efficiency": 0.9, "sharing": "by-need"}],
    "nodes": [{
        "id": "shelf-board", "title": "Shelf board", "outputs": 1, "tags": ["upstairs"],
        "network_switch": "switch-cellar", "powered_by": "shelf-5v", "frame_rate_limit_hz": 50,
        "channels": [{
            "number": 1, "pin": "spidev0.0",
            "run": {"pixel_type": "rgbw-example", "pixels": 30, "pixels_per_m": 30, "feeds": [FEED, FEED_BY_GAUGE],
                    "loop_ohm_per_m": 0.1, "positive_cut_before": [15], "white_emitter_k": 3000,
                    "white_balance": {"red": 1, "green": 0.9, "blue": 0.8, "white": 1}},
        }],
    }],
    "zones": [
        {"id": "shelf", "trim": 0.7, "white_point_k": 4000,
         "spans": [{"node": "shelf-board", "channel": 1, "first": 0, "pixels": 30, "path": [[0, 1], [1, 1]]}]},
        {"id": "everything", "of": ["shelf"]},
    ],
    "scenes": [SCENE],
    "timetable": [
        {"id": "open", "title": "Open", "scene": "evening", "begins": "sunset - 20 min", "ends": "23:30",
         "fade_ms": 5000, "weekdays": ["mon", "sat"], "first_day": "2026-03-01", "last_day": "2026-10-31",
         "except_dates": ["2026-05-01"]},
        {"id": "late", "scene": "evening", "begins": "18:00", "ends": "civil dawn", "rule": "FREQ=MONTHLY;BYDAY=1FR",
         "first_day": "2026-01-01"},
        {"id": "eve", "scene": None, "begins": "00:00", "ends": "civil dusk + 120 min", "dates": ["2026-12-31"],
         "flash_confirmed_by": "An invented name"},
    ],
    "cue_lists": [{
        "id": "show", "title": "Show",
        "cues": [{"id": "doors", "title": "Doors", "scene": "evening", "fade_ms": 2000, "follow_on_s": 60.5,
                  "flash_confirmed_by": "An invented name"},
                 {"id": "house-out", "scene": None}],
    }],
}  # fmt: skip
BODY: Final[Json] = {
    "frame_rate_limit_hz": 50,
    "telemetry_interval_s": 5,
    "master_level": 0.9,
    "channels": [{
        "number": 1, "pin": "spidev0.0", "pixels": 30, "pixel_type": PIXEL_TYPE, "feeds": [FEED],
        "white_balance": {"red": 1, "green": 0.9, "blue": 0.8, "white": 1}, "white_emitter_k": 3000,
        "trims": [{"first": 0, "pixels": 30, "red": 0.7, "green": 0.46, "blue": 0.26}],
    }],
    "budgets": [{"supply": "shelf-5v", "budget_a": 3.2}],
    "zones": [{
        "id": "shelf",
        "extent": {"length_m": 1, "pixels": 30, "x_min_m": 0, "x_max_m": 1, "y_min_m": 1, "y_max_m": 1},
        "spans": [{"channel": 1, "first": 0, "pixels": 30, "path": [[0, 1], [1, 1]], "start_m": 0, "start_index": 0}],
    }],
    "scenes": [SCENE],
    "showing": "evening",
    "showing_since_ms": 1_700_000_000_000,
    "timetable": [{"at_ms": 1_700_000_000_000, "scene": "evening", "fade_ms": 3000}, {"at_ms": 1_700_000_001_000}],
}  # fmt: skip
SHA256: Final = body_sha256(DesiredBody.model_validate_json(json.dumps(BODY)))
BOOT: Final[Json] = {"boot_id": "0123456789abcdef", "session": 7}
EXCHANGE: Final[Json] = {"t1_ms": 1000.5, "t2_ms": 6.25, "t3_ms": 6.5, "t4_ms": 1001}

EXAMPLES: Final[dict[str, tuple[type[BaseModel], Json]]] = {
    "venue": (Venue, VENUE),
    "desired": (
        Desired,
        {"schema_version": 1, "venue": "shop", "node": "shelf-board", "revision": 3, "sha256": SHA256, "body": BODY,
         "take": {"at_ms": 1_700_000_000_000, "fade_ms": 1500}},
    ),
    "presence": (Presence, {**BOOT, "state": "online", "agent_version": "0.1.0"}),
    "reported": (
        Reported,
        {**BOOT, "staged": {"revision": 4, "sha256": SHA256}, "showing": {"revision": 3, "sha256": SHA256},
         "scene": "evening", "taken_at_ms": 1_700_000_000_000, "damaged_state": "set aside",
         "refusal": {"revision": 5, "field": "body.scenes", "reason": "too heavy", "remedy": "use fewer layers"},
         "grant": {"number": 7, "supplies": [{"supply": "shelf-5v", "budget_a": 1.6}], "on_wires": True}},
    ),
    "telemetry": (
        Telemetry,
        {**BOOT, "sequence": 255, "uptime_s": 12.5, "revision": 3, "frame_rate_hz": 49.9, "frame_rate_target_hz": 50,
         "late_frames": 0, "frames": 600, "render_ms": 0.4, "temperature_c": 41.5, "clock_offset_ms": -3.25,
         "clock_dispersion_ms": 0.5, "clock_drift_ppm": 12.5, "clock_source": "hub", "wall_clock_disciplined": True,
         "rejected_messages": 0,
         "board": {"starts": 12, "start_cause": "power", "errors": 3, "processor_share": 0.25, "memory_free_share": 0.5,
                   "disk_free_share": 0.6, "disk_worn_share": 0.1, "disk_read_only": False, "under_voltage": False,
                   "throttled": True, "link": "wireless", "signal_dbm": -61, "link_mbit_per_s": 72, "reconnects": 1},
         "supplies": [{"supply": "shelf-5v", "amps": 1.5, "highest_a": 2.5, "limiter_scale": 1,
                      "wanted_a": 2.5, "charge_ah": 0.25}]},
    ),
    "grant": (
        Grant,
        {"schema_version": 1, "venue": "shop", "node": "shelf-board", "number": 7, "boot_id": "0123456789abcdef",
         "supplies": [{"supply": "shelf-5v", "budget_a": 1.6}]},
    ),
    "take": (Take, {"schema_version": 1, "revision": 3, "at_ms": 1_700_000_000_000, "fade_ms": 1500}),
    "ask-clock": (
        Ask,
        {"correlation": "00112233", "expires_at_ms": 1_700_000_000_000,
         "question": {"kind": "clock", "t1_ms": 1000.5, "completed": EXCHANGE}},
    ),
    "ask-rebirth": (Ask, {"correlation": "00112233", "expires_at_ms": 0, "question": {"kind": "rebirth"}}),
    "ask-identify": (
        Ask, {"correlation": "00112233", "expires_at_ms": 0, "question": {"kind": "identify", "seconds": 20}}
    ),
    "ask-walk": (
        Ask,
        {"correlation": "00112233", "expires_at_ms": 0,
         "question": {"kind": "walk", "channel": 1, "pixels_per_s": 4, "seconds": 60}},
    ),
    "ask-test-pattern": (
        Ask,
        {"correlation": "00112233", "expires_at_ms": 0,
         "question": {"kind": "test-pattern", "channel": 1, "pattern": "every-tenth", "seconds": 60}},
    ),
    "ask-telemetry": (
        Ask,
        {"correlation": "00112233", "expires_at_ms": 0,
         "question": {"kind": "telemetry", "interval_s": 0.5, "seconds": 30}},
    ),
    "answer-clock": (
        Answer, {"correlation": "00112233", "answer": {"kind": "clock", "t1_ms": 1000.5, "t2_ms": 6.25, "t3_ms": 6.5}}
    ),
    "answer-done": (Answer, {"correlation": "00112233", "answer": {"kind": "done"}}),
    "answer-declined": (Answer, {"correlation": "00112233", "answer": {"kind": "declined", "reason": "no channel 4"}}),
    "credential": (
        NodeCredential,
        {"venue": "shop", "node": "shelf-board", "broker_url": "mqtts://broker.example:8883",
         "username": "shop.shelf-board", "secret": "an-invented-secret-of-at-least-32-characters"},
    ),
}  # fmt: skip


def changed(document: Json, path: tuple[str | int, ...], value: object) -> Json:
    """A copy of `document` with the value at `path` put in place of the one there, or added."""
    result = copy.deepcopy(document)
    place: Any = result
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    return result

"""Audits to print: the demo, and a venue that makes a page as hard as one can be."""

from functools import cache
from pathlib import Path
from typing import Any

from hub.audit import Told, audit_of, standing_of
from hub.audit.service import Examined
from hub.load import SupplyLoad
from hub.scenes import sample_scene
from hub.venue_file import check_venue, read_venue_file
from schemas import Venue
from tests.hub.desired.venues import row_document, venue_from

DEMO = Path(__file__).parents[4] / "deploy" / "demo"
HOSTILE_TITLE = "<script>alert('title')</script> & \"quoted\" " + "W" * 30
HOSTILE_NOTE = "</style><img src=x onerror=alert(1)> " * 8
FORMULA_TITLE = "=cmd|' /C calc'!A0"
LONG_ID = "left-of-the-gable-above-the-clock-24v-02"
ALL_A = "a" * 40


def examined_of(venue: Venue, scene: str | None = None, told: Told | None = None) -> Examined:
    standing = standing_of(venue)
    peaks = None if scene is None else sample_scene(standing.lights(), scene)
    return Examined(standing, audit_of(standing, scene, peaks, told or Told({}, {})), 7)


@cache
def demo() -> Examined:
    """The demo venue in its evening, with one supply heard of."""
    told = Told({"bay-01-5v": SupplyLoad(2.125, 1.875, 12.0)}, {"bay-01-5v": 1.25})
    return examined_of(read_venue_file(DEMO / "arcade.yaml"), "evening", told)


@cache
def hard() -> Examined:
    """Hostile titles, ids of 40 characters, 32 feeds of two supplies with cuts between, volts far below zero."""
    venue = venue_from(hard_document())
    assert list(check_venue(venue)) == []
    return examined_of(venue, "full-white")


def hard_document() -> dict[str, Any]:
    document = row_document(nodes=2, pixels=640)
    document |= {"title": HOSTILE_TITLE, "note": HOSTILE_NOTE[:400]}
    document["supplies"] = [
        {"id": ALL_A, "title": HOSTILE_TITLE, "volts": 5.0, "rated_a": 60.0},
        {"id": LONG_ID, "title": FORMULA_TITLE, "volts": 5.0, "rated_a": 40.0, "output_ohm": 0.01},
        {"id": "tiny", "volts": 5.0, "rated_a": 1.0},
        {"id": "unused", "volts": 48.0, "rated_a": 3.0},
    ]
    first, second = document["nodes"][0]["channels"]
    first["run"] |= {
        "pixels_per_m": 60.0,
        "positive_cut_before": [place * 20 + 10 for place in range(31)],
        "feeds": [
            {"supply": ALL_A if place % 2 else LONG_ID, "at_pixel": place * 20, "wire_mm2": 2.5, "length_m": 3.0}
            | ({"fuse_a": 5.0} if place % 3 else {})
            for place in range(32)
        ],
    }
    second["run"]["feeds"] = [{"supply": "tiny", "wire_awg": 24, "length_m": 20.0, "fuse_a": 40.0}]
    for channel in document["nodes"][1]["channels"]:
        channel["run"]["feeds"] = [
            {"supply": ALL_A, "at_pixel": pixel, "wire_mm2": 1.5, "length_m": 3.0} for pixel in (0, 3, 5, 639)
        ]
    return document

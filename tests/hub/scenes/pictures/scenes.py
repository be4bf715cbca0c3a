"""Scenes on a row of boards, and their light."""

from typing import Any

from hub.scenes import VenueLights
from hub.scenes.draft import lights_for
from schemas import Scene
from tests.hub.desired.venues import row_document, venue_from

WAVE = {"pattern": "wave", "crest": "#ffffff", "trough": "#000000", "wavelength_m": 2.0, "speed_m_per_s": 1.0}
"""Of 2 s."""


def lit(*patterns: dict[str, Any], nodes: int = 2, pixels: int = 30) -> tuple[VenueLights, Scene]:
    """A scene of these patterns over the whole band, each above the one before."""
    document = row_document(nodes, pixels)
    layers = [{"zone": "band", "pattern": pattern} for pattern in patterns]
    document["scenes"] = [{"id": "one", "title": "One", "layers": layers}]
    venue = venue_from(document | {"opening_scene": None})
    return lights_for(venue, venue.scenes[0]), venue.scenes[0]


def wash(colour: str) -> dict[str, Any]:
    return {"pattern": "wash", "colour": colour}

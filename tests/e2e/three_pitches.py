"""An invented market of three pitches, a board each: hours by clock and sun, a night run by cues."""

import json

from schemas import Venue

PITCHES = ("west", "middle", "east")


def three_pitches() -> Venue:
    """In Vienna; `amber` opens, `blue` and `green` are plain washes as well."""
    parts = {
        "id": "three-pitches",
        "title": "Three pitches, invented",
        "place": {"latitude_deg": 48.2, "longitude_deg": 16.4},
        "time_zone": "Europe/Vienna",
        "opening_scene": "amber",
        "supplies": [{"id": f"{pitch}-5v", "volts": 5.0, "rated_a": 4.0} for pitch in PITCHES],
        "nodes": [_node(pitch) for pitch in PITCHES],
        "zones": [
            *(_zone(pitch, 3.0 * place) for place, pitch in enumerate(PITCHES)),
            {"id": "front", "of": list(PITCHES)},
        ],
        "scenes": [_wash("amber", "#c06010"), _wash("blue", "#1030c0"), _wash("green", "#108040")],
        "timetable": [
            {"id": "evenings", "title": "Evenings", "scene": "amber", "begins": "sunset", "ends": "23:00"},
            {"id": "fair", "scene": "blue", "begins": "18:00", "ends": "01:00", "dates": ["2031-05-09"]},
        ],
        "cue_lists": [
            {
                "id": "night",
                "title": "Opening night",
                "cues": [
                    {"id": "doors", "title": "Doors", "scene": "amber", "fade_ms": 0},
                    {"id": "speech", "title": "Speech", "scene": "blue", "fade_ms": 0, "follow_on_s": 3.0},
                    {"id": "dance", "title": "Dance", "scene": "green", "fade_ms": 0},
                ],
            }
        ],
    }
    return Venue.model_validate_json(json.dumps(parts))


def _node(pitch: str) -> dict[str, object]:
    feed = {"supply": f"{pitch}-5v", "wire_mm2": 1.5, "length_m": 1.0, "fuse_a": 5.0}
    run = {"pixel_type": "rgb-5v-nrz800", "pixels": 40, "pixels_per_m": 20.0, "feeds": [feed]}
    channel = {"number": 1, "pin": "spidev0.0", "run": run}
    tags = [] if pitch == "middle" else ["ends"]
    return {"id": pitch, "outputs": 1, "frame_rate_limit_hz": 30.0, "tags": tags, "channels": [channel]}


def _zone(pitch: str, x_m: float) -> dict[str, object]:
    path = [[x_m, 0.0], [x_m, 2.0], [x_m + 2.0, 2.0], [x_m + 2.0, 0.0]]
    return {"id": pitch, "spans": [{"node": pitch, "channel": 1, "pixels": 40, "path": path}]}


def _wash(scene: str, colour: str) -> dict[str, object]:
    layer = {"zone": "front", "pattern": {"pattern": "wash", "colour": colour}}
    return {"id": scene, "title": scene.capitalize(), "layers": [layer]}

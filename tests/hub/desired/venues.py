"""Venues made for tests: a row of boards, each with two runs, along one band."""

import json
from typing import Any

from schemas import Venue

RGB = "rgb-5v-nrz800"


def row_document(nodes: int = 3, pixels: int = 30) -> dict[str, Any]:
    """`nodes` boards side by side, two runs of `pixels` each, one metre a run, own 5 V 4 A supplies, one `band`."""
    ids = [f"bay-{number:04d}" for number in range(1, nodes + 1)]
    return {
        "id": "arcade",
        "title": "Invented arcade",
        "opening_scene": "dusk",
        "supplies": [{"id": f"psu-{node}", "volts": 5.0, "rated_a": 4.0} for node in ids],
        "nodes": [
            {
                "id": node,
                "outputs": 2,
                "channels": [
                    {
                        "number": number,
                        "pin": f"spidev{number - 1}.0",
                        "run": {
                            "pixel_type": RGB,
                            "pixels": pixels,
                            "pixels_per_m": float(pixels),
                            "feeds": [{"supply": f"psu-{node}", "wire_mm2": 0.75, "length_m": 1.0}],
                        },
                    }
                    for number in (1, 2)
                ],
            }
            for node in ids
        ],
        "zones": [
            *(
                {
                    "id": f"zone-{node}",
                    "spans": [
                        {
                            "node": node,
                            "channel": channel,
                            "pixels": pixels,
                            "path": [[2.0 * place + channel - 1, 3.0], [2.0 * place + channel, 3.0]],
                        }
                        for channel in (1, 2)
                    ],
                }
                for place, node in enumerate(ids)
            ),
            {"id": "band", "of": [f"zone-{node}" for node in ids]},
        ],
        "scenes": [
            {
                "id": "dusk",
                "title": "Dusk",
                "layers": [
                    {"zone": "band", "pattern": {"pattern": "wash", "colour": "#402010"}},
                    {
                        "zone": f"zone-{ids[0]}",
                        "opacity": 0.5,
                        "pattern": {
                            "pattern": "chase",
                            "colour": "#ffffff",
                            "length_m": 0.2,
                            "spacing_m": 1.0,
                            "speed_m_per_s": 0.5,
                        },
                    },
                ],
            },
            {
                "id": "full-white",
                "title": "Full white",
                "layers": [{"zone": "band", "pattern": {"pattern": "wash", "colour": "#ffffff"}}],
            },
        ],
    }


def venue_from(document: dict[str, Any]) -> Venue:
    """The document as a contract, read the way a file is."""

    return Venue.model_validate_json(json.dumps(document))


def row_venue(nodes: int = 3, pixels: int = 30) -> Venue:
    return venue_from(row_document(nodes, pixels))


def renamed(venue: Venue, names: dict[str, str]) -> Venue:
    """The venue with other ids in the place of some."""
    text = venue.model_dump_json()
    for before, after in names.items():
        text = text.replace(before, after)
    return Venue.model_validate_json(text)

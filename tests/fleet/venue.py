"""The simulated venue: boards in eights on a supply and a switch, in fifties in a zone. Everything is invented."""

import json
from functools import lru_cache

from schemas import Venue

VENUE = "arcade"
NODES_PER_SUPPLY = 8
NODES_PER_SWITCH = 24
NODES_PER_ZONE = 50
RATED_A = 40.0


def node_id(number: int) -> str:
    return f"bay-{number:04d}"


def supply_id(number: int) -> str:
    return f"psu-{number // NODES_PER_SUPPLY:03d}"


@lru_cache
def simulated_venue(nodes: int) -> Venue:
    """Node `number` with one run, fed by the supply of its eight."""
    run = {"pixel_type": "rgb-5v-nrz800", "pixels": 60, "pixels_per_m": 60.0}
    words = {
        "id": VENUE,
        "title": "Arcade, invented",
        "supplies": [
            {"id": supply, "volts": 5.0, "rated_a": RATED_A} for supply in dict.fromkeys(map(supply_id, range(nodes)))
        ],
        "nodes": [
            {
                "id": node_id(number),
                "outputs": 1,
                "network_switch": f"switch-{number // NODES_PER_SWITCH:02d}",
                "channels": [
                    {
                        "number": 1,
                        "pin": "spidev0.0",
                        "run": run | {"feeds": [{"supply": supply_id(number), "wire_mm2": 1.5, "length_m": 1.0}]},
                    }
                ],
            }
            for number in range(nodes)
        ],
        "zones": [
            {
                "id": f"front-{first // NODES_PER_ZONE:02d}",
                "spans": [
                    {"node": node_id(number), "channel": 1, "pixels": 60, "path": [[number, 0], [number + 0.9, 0]]}
                    for number in range(first, min(nodes, first + NODES_PER_ZONE))
                ],
            }
            for first in range(0, nodes, NODES_PER_ZONE)
        ],
    }
    return Venue.model_validate_json(json.dumps(words))

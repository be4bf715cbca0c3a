"""What of a venue bears on its light. Pure."""

from schemas import Venue

_NAMES_OF_A_NODE = {"title": None, "tags": (), "network_switch": None, "powered_by": None}


def bearing_on_light(venue: Venue) -> Venue:
    """The venue without names, times, cables and money: where two are equal here, they light up alike in all scenes."""
    return venue.model_copy(
        update={
            "title": "",
            "note": "",
            "opening_scene": None,
            "tariff": None,
            "place": None,
            "time_zone": "UTC",
            "approves_rollouts": False,
            "timetable": (),
            "cue_lists": (),
            "nodes": tuple(node.model_copy(update=_NAMES_OF_A_NODE) for node in venue.nodes),
        }
    )

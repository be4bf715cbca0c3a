"""Times, names and tags change no light, so that nothing that rests on the light is made anew for them."""

from hub.scenes.bearing import bearing_on_light
from schemas import Venue
from schemas.timetable import Place, TimetableEntry
from tests.hub.desired.venues import row_venue

# Whoever adds a field to a venue decides here whether the light depends on it.
BEARING = {"id", "master_level", "pixel_types", "supplies", "nodes", "zones", "scenes"}
NOT_BEARING = {
    "title",
    "note",
    "opening_scene",
    "tariff",
    "place",
    "time_zone",
    "approves_rollouts",
    "timetable",
    "cue_lists",
}


def test_every_field_of_a_venue_bears_on_its_light_or_does_not() -> None:
    assert set(Venue.model_fields) == BEARING | NOT_BEARING


def test_times_names_and_tags_change_no_light() -> None:
    venue = row_venue(nodes=2)
    named = venue.model_copy(
        update={
            "title": "Another",
            "time_zone": "Asia/Tokyo",
            "place": Place(latitude_deg=35.7, longitude_deg=139.7),
            "timetable": (TimetableEntry(id="evenings", scene="dusk", begins="sunset", ends="23:00"),),
            "nodes": tuple(node.model_copy(update={"tags": ("upstairs",), "title": "x"}) for node in venue.nodes),
        }
    )
    assert bearing_on_light(named) == bearing_on_light(venue)
    assert bearing_on_light(row_venue(nodes=3)) != bearing_on_light(venue)
    assert bearing_on_light(venue.model_copy(update={"master_level": 0.5})) != bearing_on_light(venue)

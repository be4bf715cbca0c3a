"""What a load will change is told item by item, field by field."""

from hypothesis import given

from hub.venue_file import difference, read_venue_file
from hub.venue_file.difference import Change, ChangeKind, FieldChange
from schemas.timetable import Cue, CueList, TimetableEntry
from schemas.venue import Venue
from tests.hub.venue_file.test_reading import GOOD
from tests.hub.venue_file.test_writing import SLOW_TO_DRAW
from tests.hub.venue_file.venues import changed, venues

KIOSK = read_venue_file(GOOD)


@SLOW_TO_DRAW
@given(venue=venues())
def test_no_change_between_equal_venues(venue: Venue) -> None:
    assert difference(venue, Venue.model_validate_json(venue.model_dump_json())) == []


@SLOW_TO_DRAW
@given(before=venues(), after=venues())
def test_venues_that_differ_have_changes(before: Venue, after: Venue) -> None:
    assert bool(difference(before, after)) == (before != after)


def test_new_venue_is_added_with_its_items() -> None:
    changes = difference(None, KIOSK)
    assert changes[0] == Change(kind=ChangeKind.ADDED, noun="venue", id="kiosk")
    assert Change(kind=ChangeKind.ADDED, noun="zone", id="lintel") in changes
    assert {change.kind for change in changes} == {ChangeKind.ADDED}


def test_changed_field_is_told_with_both_values() -> None:
    run = changed(KIOSK.nodes[0].channels[1].run, pixels=19)
    channel = changed(KIOSK.nodes[0].channels[1], run=run)
    node = changed(KIOSK.nodes[0], channels=(KIOSK.nodes[0].channels[0], channel), title="Front")
    assert difference(KIOSK, changed(KIOSK, nodes=(node,))) == [
        Change(
            kind=ChangeKind.CHANGED,
            noun="node",
            id="front",
            fields=[
                FieldChange(field="title", before=None, after="Front"),
                FieldChange(field="channels[1].run.pixels", before=20, after=19),
            ],
        )
    ]


def test_removed_and_added_items_are_told() -> None:
    renamed = changed(KIOSK.supplies[1], id="psu-b")
    assert difference(KIOSK, changed(KIOSK, supplies=(KIOSK.supplies[0], renamed))) == [
        Change(kind=ChangeKind.REMOVED, noun="supply", id="psu-12v"),
        Change(kind=ChangeKind.ADDED, noun="supply", id="psu-b"),
    ]


def test_entries_and_cue_lists_are_items_and_place_is_the_venue_s_own() -> None:
    evenings = TimetableEntry(id="evenings", scene="evening", begins="18:00", ends="23:00")
    opening = CueList(id="opening", title="Opening", cues=(Cue(id="doors"),))
    before = changed(KIOSK, timetable=(evenings,))
    later = changed(before, timetable=(changed(evenings, ends="23:30"),), cue_lists=(opening,), time_zone="Asia/Tokyo")
    assert difference(before, later) == [
        Change(
            kind=ChangeKind.CHANGED,
            noun="venue",
            id="kiosk",
            fields=[FieldChange(field="time_zone", before="UTC", after="Asia/Tokyo")],
        ),
        Change(
            kind=ChangeKind.CHANGED,
            noun="timetable entry",
            id="evenings",
            fields=[FieldChange(field="ends", before="23:00", after="23:30")],
        ),
        Change(kind=ChangeKind.ADDED, noun="cue list", id="opening"),
    ]


def test_another_order_is_a_change_of_the_venue() -> None:
    (change,) = difference(KIOSK, changed(KIOSK, supplies=KIOSK.supplies[::-1]))
    assert (change.noun, [field.field for field in change.fields]) == ("venue", ["supplies"])

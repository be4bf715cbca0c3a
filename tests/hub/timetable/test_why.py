"""Why a scene is on: the entry and its days, who holds over it, what is covered, what is left out, what is next."""

from hub.desired import Choices, Chosen
from hub.timetable import explain, timed_takes
from hub.timetable.view import Why
from schemas import TimedTake
from tests.hub.timetable.planned import TROMSO, Entry, show_ms, venue_with

WEEKLY: Entry = {"id": "weekly", "scene": "calm", "begins": "sunset", "ends": "23:00"}
FRIDAYS: Entry = {"id": "fridays", "scene": "lively", "begins": "20:00", "ends": "21:30", "weekdays": ["fri"]}
EVE: Entry = {"id": "eve", "scene": None, "begins": "20:15", "ends": "20:45", "dates": ["2026-03-27"]}


def told(why: Why) -> str:
    return "\n".join(why.told)


def at(time: str) -> int:
    return show_ms(f"2026-03-27T{time}")  # a Friday; sunset 18:17


def test_entry_its_day_and_what_it_covers() -> None:
    why = explain(venue_with(WEEKLY, FRIDAYS, EVE), at("20:10"))
    assert (why.scene, why.source) == ("lively", "timetable")
    assert why.since is not None
    assert why.since.local == "2026-03-27T20:00:00+01:00"
    assert why.timetable_says is not None
    assert why.timetable_says.because == "Friday is one of its weekdays"
    assert why.timetable_says.ends_as == "begin of eve"
    assert [spell.entry for spell in why.over] == ["weekly"]
    assert "weekly covers this time, too: of equals the one further down in the timetable wins." in why.told
    assert why.next is not None
    assert (why.next.entry, why.next.scene, why.next.at.local[11:19]) == ("eve", None, "20:15:00")


def test_dates_are_said_to_win() -> None:
    why = explain(venue_with(EVE, WEEKLY), at("20:30"))
    assert (why.scene, why.source) == (None, "timetable")
    assert "dates of its own win over days without a range" in told(why)
    assert why.next is not None
    assert (why.next.entry, why.next.scene) == ("weekly", "calm")


def test_darkness_says_what_ended_and_what_comes() -> None:
    why = explain(venue_with(WEEKLY), at("12:00"))
    assert why.scene is None
    assert why.timetable_says is None
    assert why.told[0] == "Darkness since weekly ended, Thu 26 Mar 2026 23:00:00."
    assert why.told[1].startswith("Next, Fri 27 Mar 2026 18:17:")
    assert "sunset 18:17:" in told(why)


def test_manual_take_holds_until_the_next_timed_take() -> None:
    venue = venue_with(WEEKLY, FRIDAYS)
    hold = Choices(Chosen("bright", at("19:00")), timetable=timed_takes(venue, at("12:00")))
    why = explain(venue, at("19:30"), hold)
    assert (why.scene, why.source) == ("bright", "hold")
    assert why.told[0] == "Scene bright was taken by hand Fri 27 Mar 2026 19:00:00; it holds until the next timed take."
    assert why.told[1].startswith("By the timetable, weekly, scene calm, from Fri 27 Mar 2026 18:17:")
    assert why.boards_hold_until is not None
    assert why.boards_hold_until.local == "2026-04-04T23:00:00+02:00"
    after = explain(venue, at("20:00"), hold)
    assert (after.scene, after.source) == ("lively", "timetable")
    assert not any("another timetable" in sentence for sentence in after.told)


def test_opening_scene_of_a_new_venue_is_nobodys_take() -> None:
    # Opened at 17:00, where the timetable had nothing on: its last word, from the evening before, no longer counts.
    venue = venue_with(WEEKLY)
    takes = timed_takes(venue, at("17:00"))
    assert takes[0].scene is None
    choices = Choices(Chosen("bright", takes[0].at_ms, opened_ms=at("17:00")), timetable=takes)
    why = explain(venue, at("17:30"), choices)
    assert (why.scene, why.source) == ("bright", "hold")
    assert why.since is not None
    assert why.since.at_ms == at("17:00")
    assert why.told[0] == "Scene bright is the opening scene; it holds until the timetable has something on."


def test_cue_that_followed_by_itself_and_one_that_will() -> None:
    cues = (TimedTake(at_ms=at("19:10"), scene="second"), TimedTake(at_ms=at("19:20"), scene="third"))
    choices = Choices(Chosen("first", at("19:00")), timetable=cues)
    why = explain(venue_with(WEEKLY), at("19:15"), choices, follow_ons=cues)
    assert (why.scene, why.source) == ("second", "follow-on")
    assert why.next is not None
    assert (why.next.scene, why.next.entry) == ("third", None)


def test_node_apart_is_told_until_the_next_timed_take() -> None:
    choices = Choices(Chosen("calm", at("10:00")), {"bay-01": Chosen("bright", at("19:00"))})
    assert [one.node for one in explain(venue_with(WEEKLY), at("19:30"), choices).apart] == ["bay-01"]
    assert explain(venue_with(WEEKLY), at("23:30"), choices).apart == []


def test_left_out_entry_is_told_with_its_reason_and_counts_as_absent() -> None:
    why = explain(venue_with(WEEKLY, FRIDAYS), at("20:10"), left_out={"fridays": "its scene flashes", "gone": "?"})
    assert why.scene == "calm"
    assert [(one.entry, one.reason) for one in why.left_out] == [("fridays", "its scene flashes")]
    assert "fridays is left out: its scene flashes." in why.told


def test_boards_that_go_by_an_older_timetable_are_told() -> None:
    old = timed_takes(venue_with(WEEKLY | {"scene": "faded"}), at("12:00"))
    why = explain(venue_with(WEEKLY), at("19:00"), Choices(Chosen("faded", 0), timetable=old))
    assert why.scene == "calm"
    assert "scene faded, until a rollout brings them this one" in told(why)


def test_polar_night_says_what_the_sun_counts_as() -> None:
    venue = venue_with({"begins": "sunset", "ends": "sunrise"}, zone="Europe/Oslo", place=TROMSO)
    why = explain(venue, show_ms("2026-12-20T20:00", "Europe/Oslo"))
    assert why.scene == "s0"
    assert why.sun is not None
    assert why.sun.sunrise is None
    assert why.sun.civil_dawn is not None
    assert "no sunset: it counts as 11:" in why.sun.told


def test_nothing_at_all() -> None:
    why = explain(venue_with(), at("12:00"))
    assert (why.scene, why.source, why.since, why.next) == (None, "nothing", None, None)
    assert why.told[:2] == [
        "Nothing is on: the timetable had nothing in the year before, and nobody took a scene.",
        "Nothing follows within a year.",
    ]


def test_scene_in_force_without_a_timetable_holds_for_good() -> None:
    why = explain(venue_with(), at("12:00"), Choices(Chosen("bright", at("11:00"))))
    assert (why.scene, why.source, why.next) == ("bright", "hold", None)

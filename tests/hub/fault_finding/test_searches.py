"""What is seen leads to what it is: the trade's usual faults, what the hub answers itself, what is carried."""

import math
from dataclasses import replace

import pytest

from hub.audit.report import standing_of
from hub.electrical.levels import Level
from hub.errors import ConflictError, InvalidError
from hub.fault_finding import known
from hub.fault_finding.course import MAX_STEPS, Given, answered, begin, taken_back
from hub.fault_finding.figures import facts_of
from hub.fault_finding.gathering import lowest_of
from hub.fault_finding.knowledge import Heard, Knowledge
from hub.fault_finding.showing import diagnosis_of
from hub.fault_finding.step import Asked
from hub.fault_finding.symptom import Symptom
from hub.fault_finding.tree import TREE
from tests.hub.desired.venues import row_document, venue_from
from tests.hub.fault_finding.searches import asked, diagnosed, heard, knowledge, one_board, walked
from tests.hub.played_node import telemetry

A_RUN = knowledge(one_board())
SILENT = Heard(online=False, heard_at_s=900.0)


def carried(know: Knowledge, symptom: Symptom, *answers: str) -> dict[str, str]:
    shown = diagnosis_of(diagnosed(know, symptom, *answers), know)
    return {item.what: item.size for item in shown.carry}


@pytest.mark.parametrize(
    ("symptom", "answers", "diagnosis"),
    [
        (Symptom.FIRST_PIXEL_ONLY, ("far-end",), "runs-backwards"),
        (Symptom.FIRST_PIXEL_ONLY, ("first", "other-colours"), "colour-order-wrong"),
        (Symptom.FIRST_PIXEL_ONLY, ("first", "mixed"), "emitters-miscounted"),
        (Symptom.WRONG_COLOURS, ("backwards",), "runs-backwards"),
        (Symptom.FAR_END_FADES, ("fades", "low", "low", "low"), "supply-sags"),
        (Symptom.FAR_END_FADES, ("fades", "low", "low", "good"), "feed-wire-thin"),
        (Symptom.FAR_END_FADES, ("fades", "low", "good"), "bad-joint"),
        (Symptom.FLICKERS, ("board", "no"), "no-common-ground"),
        (Symptom.FLICKERS, ("run", "yes", "no", "yes", "no"), "data-level-low"),
        (Symptom.FLICKERS, ("run", "yes", "yes", "no"), "capacitor-missing"),
        (Symptom.RANDOM_FLASHES, ("yes", "yes", "yes", "long"), "data-line-long"),
        (Symptom.CUT_OFF, ("part", "stand"), "pixel-passes-no-data"),
        (Symptom.CUT_OFF, ("part", "dark", "none"), "rail-broken"),
        (Symptom.NOTHING_LIGHTS, ("nothing", "yes", "none", "good"), "feed-open"),
        (Symptom.NOTHING_LIGHTS, ("nothing", "yes", "reversed"), "polarity-reversed"),
        (Symptom.NOTHING_LIGHTS, ("nothing", "no", "none", "dead"), "mains-off"),
        (Symptom.ONE_PIXEL, ("dark",), "pixel-dead"),
        (Symptom.SUPPLY_DARK, ("none", "works", "yes"), "short-behind-feed"),
        (Symptom.STUTTERS, ("steps",), "run-too-long-for-rate"),
        (Symptom.TOO_DIM, ("darker", "low", "low", "low"), "supply-sags"),
    ],
)
def test_what_is_seen_leads_to_what_it_most_likely_is(
    symptom: Symptom, answers: tuple[str, ...], diagnosis: str
) -> None:
    assert diagnosed(A_RUN, symptom, *answers).step == diagnosis


def test_spares_have_the_sizes_of_the_inventory() -> None:
    items = carried(A_RUN, Symptom.NOTHING_LIGHTS, "nothing", "yes", "none", "good")
    assert (
        items["Fuses of the same rating, never larger"] == "3 A blade, two of them; feed at pixel 0 from psu-bay-0001"
    )
    assert items["Feed wire"] == "0.75 mm² or thicker, two conductors of 1 m and a little over"
    items = carried(A_RUN, Symptom.ONE_PIXEL, "dark")
    assert items["Spare pixels of the same kind"].startswith("3 of rgb-5v-nrz800 (RGB, 5 V, ")
    assert items["Spare pixels of the same kind"].endswith("order GRB, 50 a metre")
    items = carried(A_RUN, Symptom.SUPPLY_DARK, "none", "works", "no")
    assert items["Spare supply"] == "5 V DC, 4 A or more, in the place of psu-bay-0001"
    assert carried(A_RUN, Symptom.FLICKERS, "run", "yes", "no", "yes", "no")["Level shifter"].startswith(
        "3.3 V in, 5 V out"
    )


def test_capacitor_bears_more_than_the_volts_of_its_supply() -> None:
    what = "Capacitor across + and – where power enters the run"
    for volts, rating in ((5.0, "6.3 V"), (12.0, "16 V"), (24.0, "35 V")):
        venue = one_board()
        supplies = tuple(supply.model_copy(update={"volts": volts}) for supply in venue.supplies)
        know = replace(A_RUN, venue=venue.model_copy(update={"supplies": supplies}))
        assert rating in carried(know, Symptom.FLICKERS, "run", "yes", "yes", "no")[what]


def test_run_of_the_whole_board_is_fed_by_every_feed_that_has_its_fuse() -> None:
    know = knowledge(one_board(), channel=None)
    items = carried(know, Symptom.SUPPLY_DARK, "good", "none")
    assert items["Fuses of the same rating, never larger"].endswith(
        "pixel 0 from psu-bay-0001, pixel 0 from psu-bay-0001"
    )


@pytest.mark.parametrize("symptom", [one for one in Symptom if one.of_a_run])
def test_board_that_is_not_heard_is_looked_for_first(symptom: Symptom) -> None:
    know = knowledge(one_board(), said=SILENT)
    course = walked(know, symptom, [])
    assert course.step == "silent-supply-mates"
    (first,) = course.taken
    assert (first.hub, first.answer, first.words) == (True, "no", "The hub does not hear bay-0001")


def shared_by_three(**of_node: str) -> Knowledge:
    """Three boards with something in common; the first is silent."""
    venue = venue_from(row_document(nodes=3))
    nodes = tuple(node.model_copy(update=of_node) for node in venue.nodes)
    return knowledge(venue.model_copy(update={"nodes": nodes}), channel=None, said=SILENT)


def test_supply_whose_boards_are_all_silent_is_measured_and_not_each_board() -> None:
    know = shared_by_three(powered_by="psu-bay-0002")
    silent = replace(know, online=dict.fromkeys(know.online, False))
    question = asked(silent, Symptom.BOARD_SILENT)
    assert question.step == "supply-volts"
    last = walked(silent, Symptom.BOARD_SILENT, []).taken[-1]
    assert last.words == "All boards on supply psu-bay-0002 are silent: bay-0002, bay-0003 too"
    assert facts_of(silent)[0].startswith("The hub has not heard bay-0001 since 00:15:00 on 1970-01-01")
    assert (
        asked(know, Symptom.BOARD_SILENT).step == "silent-switch-mates"
    )  # two of three are heard, and no switch stated


def test_hub_that_hears_nobody_for_a_while_blames_nobody() -> None:
    know = shared_by_three(powered_by="psu-bay-0002")
    just_started = replace(know, online=dict.fromkeys(know.online, False), findings=())
    assert asked(just_started, Symptom.BOARD_SILENT).step == "silent-heard"
    assert asked(just_started, Symptom.BOARD_SILENT, "no").step == "silent-supply-mates"


def test_switch_whose_boards_are_all_silent_is_looked_at_first() -> None:
    know = shared_by_three(network_switch="loft")
    silent = replace(know, online=dict.fromkeys(know.online, False))
    assert diagnosed(silent, Symptom.BOARD_SILENT, "no").step == "switch-down"
    assert asked(know, Symptom.BOARD_SILENT, "no").step == "silent-pixels"


def test_darkness_that_was_asked_for_is_no_fault() -> None:
    assert diagnosed(knowledge(one_board(), said=heard(scene=None)), Symptom.NOTHING_LIGHTS).step == "dark-as-told"


def test_limiter_at_work_is_known_by_the_hub() -> None:
    supplies = [
        {
            "supply": "psu-bay-0001",
            "amps": 3.0,
            "highest_a": 3.2,
            "limiter_scale": 0.62,
            "wanted_a": 5.0,
            "charge_ah": 0,
        }
    ]
    know = knowledge(one_board(), said=heard(supplies=supplies))
    assert diagnosed(know, Symptom.TOO_DIM).step == "budget-dims"
    assert "Its budget limiter dims to 62 % for supply psu-bay-0001." in facts_of(know)


def test_trims_and_master_level_are_known_by_the_hub() -> None:
    venue = one_board()
    dimmed = venue.model_copy(update={"master_level": 0.5})
    assert diagnosed(knowledge(dimmed), Symptom.TOO_DIM).step == "trimmed-down"
    zones = tuple(zone.model_copy(update={"trim": 0.7}) if zone.of else zone for zone in venue.zones)
    trimmed = knowledge(venue.model_copy(update={"zones": zones}))
    assert walked(trimmed, Symptom.TOO_DIM, []).taken[-1].words == "Zones that hold the run are trimmed to 0.70"
    assert asked(A_RUN, Symptom.TOO_DIM).step == "dim-ramp"


def test_run_that_is_too_long_by_plan_needs_no_meter() -> None:
    venue = one_board(pixels=400)
    supplies = tuple(supply.model_copy(update={"rated_a": 40.0}) for supply in venue.supplies)
    know = knowledge(venue.model_copy(update={"supplies": supplies}))
    assert know.lowest is not None
    assert know.kind is not None
    assert know.lowest.volts < know.kind.minimum_volts
    step = diagnosed(know, Symptom.FAR_END_FADES, "fades")
    assert step.step == "underfed"
    assert "Never join the positives" in " ".join(step.cautions)


def test_volts_at_the_far_end_are_those_of_an_independent_solver() -> None:
    """50 pixels of 20 mA, 0.02 Ω from each to the next and to the first, 5 V: 4.49 V (ngspice 39; n(n+1)/2 by hand)."""
    document = row_document(nodes=1, pixels=50)
    kind = {
        "key": "twenty-ma",
        "title": "Invented",
        "volts": 5.0,
        "minimum_volts": 3.5,
        "colour_order": "GRB",
        "timing": {
            "protocol": "nrz", "t0h_us": 0.4, "t0l_us": 0.85, "t1h_us": 0.8, "t1l_us": 0.45, "tolerance_us": 0.15,
            "reset_us": 50.0,
        },
        "idle_ma": 0.0,
        "full_ma": {"red": 20.0, "green": 0.0, "blue": 0.0},
        "typical_ma": 20.0,
        "sources": {"otherwise": "invented"},
    }  # fmt: skip
    # Class 5 copper of 0.5 mm²: 39 Ω/km at 20 °C (IEC 60228), twice for both conductors.
    feed = {"supply": "psu-bay-0001", "wire_mm2": 0.5, "length_m": 0.02 / 0.078, "conductor_c": 20.0}
    run = {
        "pixel_type": "twenty-ma", "pixels": 50, "pixels_per_m": 50.0, "loop_ohm_per_m": 1.0, "feeds": [feed],
    }  # fmt: skip
    (node,) = document["nodes"]
    channels = [{"number": 1, "pin": "spidev0.0", "run": run}]
    supplies = [{"id": "psu-bay-0001", "volts": 5.0, "rated_a": 40.0}]
    parts = {"pixel_types": [kind], "nodes": [node | {"channels": channels}], "supplies": supplies}
    venue = venue_from(document | parts | {"zones": [], "scenes": [], "opening_scene": None})
    lowest = lowest_of(standing_of(venue).volts("bay-0001", 1, Level.UNDER_BUDGET))
    assert lowest is not None
    assert (lowest.at_pixel, round(lowest.volts, 3), lowest.far_end_v) == (49, 4.49, lowest.volts)
    assert math.isclose(lowest.volts, 5.0 - 0.02 * 0.02 * 50 * 51 / 2, abs_tol=1e-3)


@pytest.mark.parametrize(
    ("asks", "told", "answer"),
    [
        (known.too_few_frames, {"frame_rate_hz": 50.0}, known.YES),
        (known.too_few_frames, {"frame_rate_hz": 59.9}, known.NO),
        (known.hot_or_throttled, {"temperature_c": 82.0}, known.YES),
        (known.hot_or_throttled, {"board": {"starts": 1, "throttled": True}}, known.YES),
        (known.hot_or_throttled, {"temperature_c": 60.0}, known.NO),
        (known.hot_or_throttled, {"temperature_c": None}, None),
        (known.clock_astray, {"clock_source": "wall"}, known.YES),
        (known.clock_astray, {"clock_dispersion_ms": 40.0}, known.YES),
        (known.clock_astray, {"clock_dispersion_ms": 1.0}, known.NO),
        (known.board_supply_low, {"board": {"starts": 1, "under_voltage": True}}, known.YES),
        (known.board_supply_low, {"board": {"starts": 1}}, None),
        (known.wireless, {"board": {"starts": 1, "link": "wireless"}}, known.YES),
        (known.wireless, {"board": {"starts": 1, "link": "wired"}}, known.NO),
        (known.wireless, {}, None),
    ],
)  # fmt: skip
def test_hub_answers_from_telemetry_and_where_it_cannot_says_nothing(
    asks: Asked, told: dict[str, object], answer: str | None
) -> None:
    found = asks(replace(A_RUN, heard=Heard(True, 1_000.0, telemetry(**told))))
    assert (None if found is None else found.answer) == answer


def test_old_words_of_a_silent_board_say_nothing_of_its_frames() -> None:
    off = replace(A_RUN, heard=Heard(False, 1_000.0, telemetry(frame_rate_hz=10.0)))
    assert known.too_few_frames(off) is known.hot_or_throttled(off) is known.clock_astray(off) is None
    assert off.limiter is None


def test_answer_that_the_question_does_not_have_is_refused_with_those_that_it_has() -> None:
    course = walked(A_RUN, Symptom.ONE_PIXEL, [])
    with pytest.raises(InvalidError) as refused:
        answered(TREE, course, A_RUN, "purple", Given(0))
    assert refused.value.mistakes[0].remedy == "choose of: dark, colour, after, right"


def test_nothing_is_taken_back_before_anything_was_answered() -> None:
    with pytest.raises(ConflictError, match="nothing to take back"):
        taken_back(walked(A_RUN, Symptom.ONE_PIXEL, []))


def test_search_into_a_run_of_a_board_without_any_is_refused() -> None:
    with pytest.raises(ConflictError, match="has no run"):
        begin(TREE, one_board(channels=[]).nodes[0], None, Symptom.FLICKERS)


def test_search_does_not_grow_without_end() -> None:
    course = walked(A_RUN, Symptom.ONE_PIXEL, [])
    while len(course.taken) < MAX_STEPS:
        course = taken_back(answered(TREE, course, A_RUN, "right", Given(0)))
    with pytest.raises(ConflictError, match="end it and begin anew"):
        answered(TREE, course, A_RUN, "right", Given(0))

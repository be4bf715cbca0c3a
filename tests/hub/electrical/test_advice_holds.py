"""Advice on five stated situations: it holds when applied, by the solver or by its tables, and one step less fails."""

import itertools
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest

from hub.electrical.advice import (
    BrightnessQuestion,
    FeedsQuestion,
    FrameRateQuestion,
    FuseQuestion,
    SupplyQuestion,
    WireQuestion,
    fewest_feeds,
    frame_rate,
    fuse_between,
    highest_level,
    smallest_wire,
    supply_size,
)
from hub.electrical.advice.brightness import broken_limits
from hub.electrical.advice.placing import Section, place_feeds
from hub.electrical.ampacity import ampacity_a
from hub.electrical.circuits import Circuits, venue_circuits
from hub.electrical.fuses import RATINGS_A, FuseKind, fitting_ratings_a
from hub.electrical.network import FeedWire, Ladder, Source, solve_network
from hub.errors import InvalidError, NotFoundError
from schemas import PIXEL_CATALOGUE
from tests.hub.desired.venues import row_document, venue_from


def long_run(pixels: int = 300, **run: Any) -> Circuits:  # noqa: ANN401 (fields of a run)
    """A run of 60 pixels a metre, 0.1 Ω/m, on a large 5 V supply; feeds of 2 m of 2.5 mm²."""
    document = row_document(nodes=1, pixels=30)
    document["supplies"][0] |= {"rated_a": 60.0}
    document["nodes"][0]["channels"][0]["run"] |= {
        "pixels": pixels,
        "pixels_per_m": 60.0,
        "loop_ohm_per_m": 0.1,
        "feeds": [{"supply": "psu-bay-0001", "wire_mm2": 2.5, "length_m": 2.0, "at_pixel": 0}],
        **run,
    }
    document["zones"], document["scenes"], document["opening_scene"] = [], [], None
    return venue_circuits(venue_from(document))


def lowest_v(circuits: Circuits, level: float, at_pixels: Sequence[int]) -> float:
    """The lowest volts of the first run fed at `at_pixels`, worked out here from the run's own figures."""
    circuit = circuits.runs[0]
    load_a = (circuit.kind.idle_ma + level * (circuit.kind.full_pixel_ma - circuit.kind.idle_ma)) * 1e-3
    ladder = Ladder(
        load_a=np.full(circuit.run.pixels, load_a),
        step_ohm=0.1 / 60,
        feeds=tuple(FeedWire(0, at, circuit.feeds[0].loop_ohm) for at in at_pixels),
    )
    return float(solve_network([Source(5.0)], [ladder]).ladders[0].volts.min())


def test_situation_1_feeds_of_300_pixels_at_full_white() -> None:
    """5 m of 60 pixels a metre, 60 mA a pixel, no pixel below 4.0 V: the fewest feeds, and no places for one less."""
    circuits = long_run()
    advice = fewest_feeds(circuits, FeedsQuestion(node="bay-0001", channel=1, level=1.0, minimum_volts=4.0))
    at_pixels = advice.values["at_pixels"]
    assert isinstance(at_pixels, list)
    feeds = [int(pixel) for pixel in at_pixels]
    assert advice.found
    assert len(feeds) >= 2
    assert lowest_v(circuits, 1.0, feeds) >= 4.0
    assert lowest_v(circuits, 1.0, feeds) == pytest.approx(advice.values["lowest_v"], abs=1e-4)
    # One feed less: on a grid of every fifth pixel, and each of the places that were found left out.
    for fewer in itertools.chain(
        itertools.combinations(range(0, 300, 5), len(feeds) - 1), itertools.combinations(feeds, len(feeds) - 1)
    ):
        assert lowest_v(circuits, 1.0, fewer) < 4.0


def test_situation_2_wire_and_its_fuse_for_a_feed_of_4_5_a_over_6_m() -> None:
    """The wire of the advice in the solver: a feed of 6 m that carries 4.5 A at 12 V loses no more than 3 %."""
    question = WireQuestion(length_m=6.0, current_a=4.5, volts=12.0)
    advice = smallest_wire(question)
    assert (advice.values["wire_mm2"], advice.values["decided_by"]) == (4.0, "drop")
    conductor_c = float(str(advice.values["conductor_c"]))

    def drop_v(**wire: float) -> float:
        circuits = long_run(
            30,
            feeds=[{"supply": "psu-bay-0001", "length_m": 6.0, "conductor_c": conductor_c, **wire}],
        )
        ladder = Ladder(load_a=np.array([4.5]), step_ohm=0.1, feeds=circuits.runs[0].feeds)
        return 12.0 - float(solve_network([Source(12.0)], [ladder]).ladders[0].volts[0])

    assert drop_v(wire_mm2=4.0) <= 0.36 < drop_v(wire_mm2=2.5)
    gauge = int(str(advice.values["wire_awg"]))
    assert drop_v(wire_awg=gauge) <= 0.36 < drop_v(wire_awg=gauge + 2)
    assert ampacity_a(4.0) >= 4.5
    fuse = fuse_between(FuseQuestion(load_a=4.5, wire_mm2=4.0, volts=12.0))
    assert fuse.values["fitting_a"] == [7.5, 10.0, 15.0, 20.0, 25.0]


def test_a_short_wire_is_decided_by_what_it_may_carry() -> None:
    advice = smallest_wire(WireQuestion(length_m=0.3, current_a=12.0, volts=24.0))
    assert (advice.values["wire_mm2"], advice.values["decided_by"]) == (1.5, "ampacity")
    assert ampacity_a(1.5) >= 12.0 > ampacity_a(1.0)
    assert "1 mm²" in advice.confirmation
    assert "fails" in advice.confirmation


@pytest.mark.parametrize("kind", FuseKind)
@pytest.mark.parametrize(("load_a", "wire_mm2"), [(1.0, 0.75), (3.0, 1.0), (4.5, 1.5), (8.0, 2.5)])
def test_situation_3_fuse_carries_the_load_and_the_next_larger_does_not_protect(
    kind: FuseKind, load_a: float, wire_mm2: float
) -> None:
    advice = fuse_between(FuseQuestion(load_a=load_a, wire_mm2=wire_mm2, volts=5.0, kind=kind))
    fitting = fitting_ratings_a(load_a, ampacity_a(wire_mm2), kind)
    blows_at = {FuseKind.BLADE: 1.35, FuseKind.CARTRIDGE: 2.1}[kind]

    def protects(rating: float) -> bool:
        return rating <= ampacity_a(wire_mm2) and rating * blows_at <= 1.45 * ampacity_a(wire_mm2)

    assert advice.found == bool(fitting)
    assert [rating for rating in RATINGS_A[kind] if load_a <= 0.8 * rating and protects(rating)] == list(fitting)
    if fitting:
        assert advice.values["fuse_a"] == fitting[0]
        assert not any(protects(rating) for rating in RATINGS_A[kind] if rating > fitting[-1])
        assert all(load_a > 0.8 * rating for rating in RATINGS_A[kind] if rating < fitting[0])


@pytest.mark.parametrize(
    ("question", "why"),
    [
        (FuseQuestion(load_a=9.0, wire_awg=18, volts=5.0), "at least"),
        (FuseQuestion(load_a=12.0, wire_awg=18, volts=5.0), "may carry"),
        (FuseQuestion(load_a=1.0, wire_awg=18, volts=48.0), "32 V"),
        (FuseQuestion(load_a=4.9, wire_mm2=0.75, volts=5.0), "at least 6.12 A"),
        (FuseQuestion(load_a=8.2, wire_mm2=2.5, volts=5.0, kind=FuseKind.CARTRIDGE), "no standard cartridge fuse"),
    ],
)
def test_where_no_fuse_fits_the_answer_says_why(question: FuseQuestion, why: str) -> None:
    advice = fuse_between(question)
    assert not advice.found
    assert why in advice.answer
    assert "fuse_a" not in advice.values


@pytest.mark.parametrize(("ambient_c", "rated_a", "next_smaller_a"), [(30.0, 12.0, 10.0), (60.0, 15.0, 12.0)])
def test_situation_4_supply_of_150_pixels_at_full_white(
    ambient_c: float, rated_a: float, next_smaller_a: float
) -> None:
    """150 pixels of 60 mA (common practice, no source) draw 9 A; from 50 °C on the supply loses 2.5 % a kelvin."""
    advice = supply_size(SupplyQuestion(load_a=9.0, volts=5.0, ambient_c=ambient_c))
    left = 0.8 * (1 - 0.025 * max(ambient_c - 50, 0))
    assert advice.values["rated_a"] == rated_a
    assert rated_a * left >= 9.0 > next_smaller_a * left
    assert any("not Class 2" in caution for caution in advice.cautions)


def test_a_load_beyond_one_supply_is_shared_and_great_heat_leaves_none() -> None:
    shared = supply_size(SupplyQuestion(load_a=250.0, volts=5.0))
    assert (shared.values["supplies"], shared.values["rated_a"]) == (4, 80.0)
    assert 4 * 80 * 0.8 >= 250 > 4 * 60 * 0.8
    assert not supply_size(SupplyQuestion(load_a=1.0, volts=5.0, ambient_c=90.0)).found


@pytest.mark.parametrize(
    ("pixels", "feeds", "words"),
    [
        (300, [{"supply": "psu-bay-0001", "wire_mm2": 10.0, "length_m": 1.0}], "V at pixel 299"),
        (150, [{"supply": "psu-bay-0001", "wire_mm2": 0.75, "length_m": 0.2, "at_pixel": 75}], "the wire"),
        (60, [{"supply": "psu-bay-0001", "wire_mm2": 2.5, "length_m": 0.2, "fuse_a": 3.0}], "the fuse"),
    ],
)
def test_situation_5_brightness_holds_and_one_per_cent_more_does_not(
    pixels: int, feeds: list[dict[str, Any]], words: str
) -> None:
    circuits, question = long_run(pixels, feeds=feeds), BrightnessQuestion()
    advice = highest_level(circuits, question)
    level = float(str(advice.values["level"]))
    assert 0 < level < 1
    assert words in str(advice.values["decided_by"])
    assert broken_limits(circuits, question, level) == []
    assert any(words in text for text in broken_limits(circuits, question, level * 1.01))


def test_brightness_of_the_trades_example_is_the_budget_over_the_worst_case() -> None:
    """150 pixels on 5 V 4 A (common practice, no source): 3.2 A of 9 A, less what 150 dark pixels draw."""
    document = row_document(nodes=1, pixels=75)
    for channel in document["nodes"][0]["channels"]:
        channel["run"]["feeds"][0] |= {"wire_mm2": 4.0, "length_m": 0.2}
    circuits = venue_circuits(venue_from(document))
    advice = highest_level(circuits, BrightnessQuestion(minimum_volts=3.5))
    idle_a = 150 * PIXEL_CATALOGUE["rgb-5v-nrz800"].idle_ma * 1e-3
    assert advice.values["level"] == pytest.approx((3.2 - idle_a) / (9.0 - idle_a), abs=1e-4)
    assert [one.decided_by for one in advice.supplies] == ["the budget of 3.2 A"]


def test_supplies_that_no_run_joins_have_levels_of_their_own_and_those_joined_share_one() -> None:
    document = row_document(nodes=2, pixels=60)
    document["supplies"][1]["rated_a"] = 40.0
    apart = highest_level(venue_circuits(venue_from(document)), BrightnessQuestion())
    assert apart.supplies[0].level < apart.supplies[1].level
    assert apart.values["level"] == apart.supplies[0].level
    assert "every limit holds" in apart.confirmation
    run = document["nodes"][0]["channels"][0]["run"]
    run["feeds"].append({"supply": "psu-bay-0002", "wire_mm2": 0.75, "length_m": 1.0, "at_pixel": 59})
    joined = highest_level(venue_circuits(venue_from(document)), BrightnessQuestion())
    assert joined.supplies[0].level == joined.supplies[1].level
    assert any("join two supplies" in caution for caution in joined.cautions)
    assert "every limit holds" in joined.confirmation


def test_a_supply_that_darkness_overloads_is_told() -> None:
    document = row_document(nodes=1, pixels=1_000)
    document["supplies"][0]["rated_a"] = 1.0
    advice = highest_level(venue_circuits(venue_from(document)), BrightnessQuestion())
    assert not advice.found
    assert advice.values["level"] == 0.0
    assert "Not even darkness" in advice.answer


@pytest.mark.parametrize("pixel_type", ["rgb-5v-nrz800", "rgbw-5v-nrz800", "rgb-12v-nrz800"])
@pytest.mark.parametrize("pixels", [1, 299, 1_024, 4_096])
@pytest.mark.parametrize("wanted_hz", [30.0, 60.0, 120.0])
def test_split_for_a_frame_rate_holds_it_and_fewer_outputs_do_not(
    pixel_type: str, pixels: int, wanted_hz: float
) -> None:
    kind = PIXEL_CATALOGUE[pixel_type]
    advice = frame_rate(FrameRateQuestion(pixels=pixels, pixel_type=pixel_type, wanted_hz=wanted_hz))
    first = advice.values["first_pixels"]
    assert isinstance(first, list)
    parts = np.diff([*first, pixels])
    assert parts.min() >= 1
    assert parts.max() - parts.min() <= 1
    assert 1 / kind.wire_time_s(int(parts.max())) >= wanted_hz
    if len(parts) > 1:
        assert 1 / kind.wire_time_s(-(-pixels // (len(parts) - 1))) < wanted_hz


def test_1024_pixels_hold_30_frames_per_s_on_one_line_and_60_on_two() -> None:
    """The WS2811 data sheet promises at least 1,024 pixels at 30 frames/s for 800 kbit/s."""
    assert frame_rate(FrameRateQuestion(pixels=1_024, wanted_hz=30.0)).values["outputs"] == 1
    assert frame_rate(FrameRateQuestion(pixels=1_024, wanted_hz=60.0)).values["first_pixels"] == [0, 512]


@pytest.mark.parametrize("pixels", [1, 2, 5, 8, 11])
@pytest.mark.parametrize("feed_ohm", [0.02, 0.3])
@pytest.mark.parametrize("minimum_v", [4.9, 4.8, 4.6])
def test_no_choice_of_fewer_places_serves_a_short_section(pixels: int, feed_ohm: float, minimum_v: float) -> None:
    """Every choice of places is tried: the count is the least there is, or none serves."""
    section = Section(0, pixels, 0.06, 0.05, "psu", Source(5.0), feed_ohm, minimum_v)
    placed = place_feeds(section)
    most = pixels if placed.places is None else len(placed.places) - 1
    for feeds in range(1, most + 1):
        tried = section.volts(list(itertools.combinations(range(pixels), feeds)))
        assert max(volts.min() for volts in tried) < minimum_v
        assert all(5.0 - volts.min() >= section.least_loss_v(feeds) - 1e-9 for volts in tried)
    if placed.places is not None:
        assert section.volts([placed.places])[0].min() >= minimum_v - 1e-9


def test_no_choice_of_fewer_places_serves_any_of_300_random_short_sections() -> None:
    random = np.random.default_rng(3)
    for _ in range(300):
        pixels = int(random.integers(2, 14))
        step_ohm, feed_ohm = random.uniform(0.002, 0.1), random.uniform(0.005, 0.5)
        section = Section(0, pixels, 0.06, step_ohm, "psu", Source(5.0), feed_ohm, random.uniform(4.3, 4.98))
        places = place_feeds(section).places
        if places is not None and len(places) > 1:
            fewer = section.volts(list(itertools.combinations(range(pixels), len(places) - 1)))
            assert max(volts.min() for volts in fewer) < section.minimum_v


def test_sections_between_cuts_are_fed_each_by_its_own_supply() -> None:
    document = row_document(nodes=2, pixels=120)
    document["supplies"][0] |= {"rated_a": 60.0, "output_ohm": 0.005}
    run = document["nodes"][0]["channels"][0]["run"]
    run["positive_cut_before"] = [50]
    run["feeds"] += [{"supply": "psu-bay-0002", "wire_mm2": 1.5, "length_m": 3.0, "at_pixel": 100}]
    circuits = venue_circuits(venue_from(document))
    advice = fewest_feeds(circuits, FeedsQuestion(node="bay-0001", channel=1, level=0.5, minimum_volts=4.7))
    assert advice.found
    places, supplies = advice.values["at_pixels"], str(advice.values["supplies"]).split(", ")
    assert isinstance(places, list)
    assert {(place < 50, supply) for place, supply in zip(places, supplies, strict=True)} == {
        (True, "psu-bay-0001"),
        (False, "psu-bay-0002"),
    }
    assert float(str(advice.values["lowest_v"])) >= 4.7
    assert any("budget" in caution for caution in advice.cautions)


def test_a_voltage_above_the_supplys_is_refused_with_the_reason() -> None:
    advice = fewest_feeds(long_run(), FeedsQuestion(node="bay-0001", channel=1, minimum_volts=5.5))
    assert not advice.found
    assert "below 5.5 V" in advice.confirmation


def test_a_run_without_feeds_needs_the_wire_told() -> None:
    circuits = long_run(30, feeds=[])
    with pytest.raises(InvalidError) as refused:
        fewest_feeds(circuits, FeedsQuestion(node="bay-0001", channel=1))
    assert [mistake.field for mistake in refused.value.mistakes] == ["query.supply", "query.wire_mm2", "query.length_m"]
    told = FeedsQuestion(node="bay-0001", channel=1, supply="psu-bay-0001", wire_awg=16, length_m=1.0)
    assert fewest_feeds(circuits, told).found


@pytest.mark.parametrize(
    "wrong", [{"node": "bay-0002"}, {"channel": 4}, {"supply": "psu-none"}], ids=["node", "channel", "supply"]
)
def test_what_the_venue_does_not_have_is_not_found(wrong: dict[str, Any]) -> None:
    with pytest.raises(NotFoundError):
        fewest_feeds(long_run(), FeedsQuestion(**({"node": "bay-0001", "channel": 1} | wrong)))


@pytest.mark.parametrize("size", [{}, {"wire_mm2": 1.5, "wire_awg": 16}], ids=["none", "both"])
def test_one_size_of_wire_is_needed(size: dict[str, Any]) -> None:
    with pytest.raises(InvalidError, match="one size of wire"):
        fuse_between(FuseQuestion(load_a=1.0, volts=5.0, **size))


def test_every_answer_tells_formula_inputs_source_and_cautions() -> None:
    answers = [
        smallest_wire(WireQuestion(length_m=1.0, current_a=1.0, volts=5.0)),
        fuse_between(FuseQuestion(load_a=1.0, wire_mm2=1.5, volts=5.0)),
        supply_size(SupplyQuestion(load_a=1.0, volts=5.0)),
        frame_rate(FrameRateQuestion(pixels=10)),
        highest_level(long_run(), BrightnessQuestion()),
        fewest_feeds(long_run(), FeedsQuestion(node="bay-0001", channel=1)),
    ]
    for advice in answers:
        assert advice.answer.endswith(".")
        assert all((advice.formula, advice.inputs, advice.source, advice.confirmation, advice.cautions))
    for advice in answers[:3] + answers[4:]:
        cautions = " ".join(advice.cautions)
        assert all(word in cautions for word in ("off", "polarity", "fuse", "Local code", "licensed electrician"))

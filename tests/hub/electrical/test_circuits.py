"""A venue as a network, by hand."""

from typing import Any

import numpy as np
import pytest

from hub.electrical.circuits import ASSUMED_LOOP_OHM_PER_M, venue_circuits
from hub.electrical.copper import loop_ohm
from hub.electrical.levels import Level
from hub.electrical.network import Source
from tests.hub.desired.venues import row_document, venue_from


def one_run(**run: Any) -> dict[str, Any]:  # noqa: ANN401 (any field of a run)
    """Two boards; the second's second run is changed by `run`."""
    document = row_document(nodes=2, pixels=10)
    document["nodes"][1]["channels"][1]["run"] |= run
    return document


def test_a_run_by_hand_from_two_supplies_with_a_cut() -> None:
    """RGB at 5 V: 0.9 mA idle, 60 mA full, 20 mA typical."""
    feeds = [
        {"supply": "psu-bay-0001", "at_pixel": 9, "wire_mm2": 1.0, "length_m": 3.0, "conductor_c": 20.0},
        {"supply": "psu-bay-0002", "at_pixel": 0, "wire_mm2": 2.5, "length_m": 1.0, "conductor_c": 20.0},
    ]
    document = one_run(feeds=feeds, positive_cut_before=[5], loop_ohm_per_m=0.2)
    document["supplies"][1] |= {"volts": 5.1, "output_ohm": 0.01}
    circuits = venue_circuits(venue_from(document))
    assert circuits.sources == (Source(5.0), Source(5.1, 0.01))
    assert [(run.node.id, run.channel.number) for run in circuits.runs] == [
        ("bay-0001", 1), ("bay-0001", 2), ("bay-0002", 1), ("bay-0002", 2)
    ]  # fmt: skip
    run = circuits.runs[3]
    # IEC 60228 class 5 at 20 °C: 19.5 and 7.98 ohms per kilometre, both conductors.
    assert [(feed.source, feed.pixel) for feed in run.feeds] == [(0, 9), (1, 0)]
    assert [feed.loop_ohm for feed in run.feeds] == pytest.approx([0.117, 0.01596])
    ladder = run.ladder(np.full(10, 0.06))
    assert ladder.step_ohm == pytest.approx(0.02)
    assert (ladder.cuts, ladder.minimum_v, ladder.current_falls) == ((5,), run.kind.minimum_volts, False)
    solution = circuits.at(Level.WORST_CASE)
    # Pixels 5..9 hang on the first feed, at the far end; 0..4 on the second, whose supply sags by its other run too.
    fed_a = [0.3, 0.3]
    assert solution.ladders[3].feed_a == pytest.approx(fed_a)
    assert solution.source_a == pytest.approx([1.2 + 0.3, 0.6 + 0.3])
    first_v, second_v = 5.0 - 0.3 * 0.117, 5.1 - 0.9 * 0.01 - 0.3 * 0.01596
    assert solution.ladders[3].volts[[9, 0]] == pytest.approx([first_v, second_v])
    # Four steps carry 4, 3, 2 and 1 pixels: 10 × 60 mA × 0.02 Ω.
    assert solution.ladders[3].volts[[5, 4]] == pytest.approx([first_v - 0.012, second_v - 0.012])


def test_copper_that_is_not_stated_is_two_strips_of_70_micrometres_by_5_millimetres() -> None:
    assert pytest.approx(2 * 0.017241 / (0.070 * 5.0), abs=0.005) == ASSUMED_LOOP_OHM_PER_M
    run = venue_circuits(venue_from(one_run(pixels_per_m=50.0))).runs[3]
    assert run.ladder(np.zeros(10)).step_ohm == pytest.approx(0.10 / 50)
    (feed,) = run.run.feeds
    assert run.feeds[0].loop_ohm == loop_ohm(feed)


def test_levels_lie_between_idle_and_full_and_reach_the_network_in_the_venues_order() -> None:
    circuits = venue_circuits(venue_from(one_run()))
    pixels = circuits.pixels
    assert pixels.idle_a == pytest.approx(np.full(40, 0.0009))
    assert pixels.at(Level.TYPICAL) == pytest.approx(np.full(40, 0.020))
    assert pixels.at(Level.WORST_CASE) == pytest.approx(np.full(40, 0.060))
    amps = np.linspace(0.0, 0.039, 40)
    drawn = [ladder.load_a for ladder in circuits.solve(amps).ladders]
    assert np.concatenate(drawn) == pytest.approx(amps)


def test_run_without_a_feed_has_no_volts_and_draws_nothing() -> None:
    ladder = venue_circuits(venue_from(one_run(feeds=[]))).at(Level.WORST_CASE).ladders[3]
    assert np.isnan(ladder.volts).all()
    assert not ladder.load_a.any()

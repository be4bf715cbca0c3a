"""Totals of a supply's nodes as they told last: what counts, what is stale, and what is not known."""

import numpy as np
import pytest

from hub.fleet.state import NodeState
from hub.load.histogram import BIN_SHARE
from hub.load.sampler import LoadBatch, VenueSampler
from tests.hub.energy.told import FIRST, SECOND, SUPPLY, VENUE, shared_venue
from tests.hub.played_node import telemetry

INTERVAL_S = 5.0
NOW_S = 1_000.0


@pytest.fixture
def sampler() -> VenueSampler:
    """Of two boards on one supply of 10 A."""
    return VenueSampler(shared_venue(), INTERVAL_S)


def tell(
    sampler: VenueSampler, node: str, amps: float, at_s: float = NOW_S, highest_a: float | None = None
) -> NodeState:
    drawn = {"supply": SUPPLY, "amps": amps, "highest_a": amps if highest_a is None else highest_a}
    said = telemetry(supplies=[drawn | {"limiter_scale": 1.0, "wanted_a": amps, "charge_ah": 0.0}])
    state = NodeState(VENUE, node, online=True, telemetry=said, telemetry_at_s=at_s)
    sampler.hear(state)
    return state


def sampled(sampler: VenueSampler, *at_s: float) -> LoadBatch:
    batch = sampler.new_batch("2031-05-01")
    for now_s in at_s:
        sampler.sample(now_s, 1.0, batch)
    return batch


def spent(batch: LoadBatch) -> dict[float, float]:
    """Seconds by amps at the lower end of a bin."""
    (seconds,) = batch.seconds
    return {round(place * 10.0 * BIN_SHARE, 3): float(seconds[place]) for place in np.flatnonzero(seconds)}


def test_total_is_the_sum_of_what_each_node_told_last(sampler: VenueSampler) -> None:
    tell(sampler, FIRST, 1.0, highest_a=1.5)
    tell(sampler, SECOND, 2.01, NOW_S + 1, highest_a=2.25)
    batch = sampled(sampler, NOW_S + 1, NOW_S + 2)
    tell(sampler, FIRST, 4.0, NOW_S + 3)
    sampler.sample(NOW_S + 3, 1.0, batch)
    assert spent(batch) == {3.0: 2.0, 6.0: 1.0}
    assert batch.highest_a.tolist() == [6.25]


def test_peaks_that_did_not_coincide_are_not_added(sampler: VenueSampler) -> None:
    tell(sampler, FIRST, 5.0)
    tell(sampler, SECOND, 0.5)
    batch = sampled(sampler, NOW_S)
    tell(sampler, FIRST, 0.5, NOW_S + 5)
    tell(sampler, SECOND, 5.0, NOW_S + 5)
    sampler.sample(NOW_S + 5, 1.0, batch)
    assert batch.highest_a.tolist() == [5.5]


def test_word_holds_for_three_intervals_then_the_supplys_time_is_not_counted(sampler: VenueSampler) -> None:
    tell(sampler, FIRST, 1.0, NOW_S)
    tell(sampler, SECOND, 2.0, NOW_S + 10)
    assert spent(sampled(sampler, NOW_S + 15)) == {3.0: 1.0}
    batch = sampled(sampler, NOW_S + 15.1)
    assert spent(batch) == {}
    assert batch.highest_a.tolist() == [2.0]


def test_node_that_went_off_takes_its_share_with_it(sampler: VenueSampler) -> None:
    first = tell(sampler, FIRST, 1.0)
    tell(sampler, SECOND, 2.0)
    first.online = False
    sampler.hear(first)
    batch = sampled(sampler, NOW_S + 1)
    assert (spent(batch), batch.highest_a.tolist()) == ({}, [2.0])
    tell(sampler, FIRST, 1.0, NOW_S + 2)
    assert spent(sampled(sampler, NOW_S + 2)) == {3.0: 1.0}


def test_node_never_heard_leaves_the_supply_unmeasured(sampler: VenueSampler) -> None:
    tell(sampler, FIRST, 1.0)
    assert spent(sampled(sampler, NOW_S)) == {}


def test_strangers_and_supplies_made_up_change_nothing(sampler: VenueSampler) -> None:
    tell(sampler, "stranger", 9.0)
    sampler.hear(
        NodeState(VENUE, FIRST, online=True, telemetry=telemetry(), telemetry_at_s=NOW_S)
    )  # tells of psu-1, which is not this venue's
    assert sampled(sampler, NOW_S).highest_a.tolist() == [0.0]


def test_clock_set_back_does_not_make_words_last(sampler: VenueSampler) -> None:
    tell(sampler, FIRST, 1.0, NOW_S + 5_000)
    tell(sampler, SECOND, 2.0, NOW_S + 5_000)
    sampler.time_leapt(NOW_S)
    assert spent(sampled(sampler, NOW_S + 15, NOW_S + 16)) == {3.0: 1.0}


def test_batches_of_other_days_or_ratings_are_not_mixed(sampler: VenueSampler) -> None:
    other = VenueSampler(shared_venue(rated_a=12.0), INTERVAL_S)
    batch = sampler.new_batch("2031-05-01")
    assert not batch.absorb(sampler.new_batch("2031-05-02"))
    assert not batch.absorb(other.new_batch("2031-05-01"))
    tell(sampler, FIRST, 1.0)
    tell(sampler, SECOND, 2.0)
    assert batch.absorb(sampled(sampler, NOW_S))
    assert spent(batch) == {3.0: 1.0}

"""Laws that hold in every network, on random ones, and what bad input is told."""

from dataclasses import replace
from itertools import pairwise
from random import Random

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from hub.electrical.network import FeedWire, Ladder, LadderSolution, NetworkSolution, Source, solve_network
from tests.hub.electrical.network.networks import Network, overloaded_loops, random_network

networks = st.integers(0, 2**32 - 1).map(random_network)


def low_networks(seed: int) -> Network:
    """Runs whose pixels are partly below their lowest volts and draw less."""
    random = np.random.default_rng(seed)
    sources, ladders = random_network(seed)
    changed = [
        replace(
            ladder,
            load_a=ladder.load_a * 20,
            minimum_v=min(source.volts for source in sources) * float(random.uniform(0.5, 1)),
            current_falls=True,
        )
        for ladder in ladders
    ]
    return sources, changed


seeds = st.integers(0, 2**32 - 1)
any_networks = networks | seeds.map(low_networks) | seeds.map(overloaded_loops)


def volts_of(solution: NetworkSolution) -> NDArray[np.float64]:
    return np.concatenate([ladder.volts for ladder in solution.ladders])


def section_starts(ladder: Ladder) -> list[tuple[int, int]]:
    return list(pairwise((0, *ladder.cuts, ladder.load_a.size)))


def assert_kirchhoff(ladder: Ladder, solution: LadderSolution, whole: NetworkSolution) -> None:
    """Currents into every node are nil; volts around every loop of a step, and of a feed, are nil."""
    scale_a = max(1.0, float(np.abs(solution.feed_a).max(initial=0.0)))
    into, back = -solution.load_a, -solution.load_a
    for feed, amps, returned in zip(ladder.feeds, solution.feed_a, solution.feed_return_a, strict=True):
        into[feed.pixel] += amps
        back[feed.pixel] += returned
        around = feed.loop_ohm * (amps + returned) / 2
        assert whole.source_volts[feed.source] - around == pytest.approx(solution.volts[feed.pixel], abs=1e-8)
    for nodes, steps in ((into, solution.step_a), (back, solution.step_return_a)):
        nodes[1:] += steps
        nodes[:-1] -= steps
        assert np.abs(nodes).max() <= 1e-7 * scale_a
    around_steps = ladder.step_ohm * (solution.step_a + solution.step_return_a) / 2
    whole_rail = np.ones(ladder.load_a.size - 1, dtype=np.bool_)
    whole_rail[[cut - 1 for cut in ladder.cuts]] = False
    fed = whole_rail & ~np.isnan(solution.volts[:-1])
    assert np.abs(np.diff(solution.volts) + around_steps)[fed].max(initial=0.0) <= 1e-8
    assert not solution.step_a[~whole_rail].any()


@given(any_networks)
def test_kirchhoffs_laws_hold_at_every_node_and_around_every_loop(network: Network) -> None:
    sources, ladders = network
    whole = solve_network(sources, ladders)
    for ladder, solution in zip(ladders, whole.ladders, strict=True):
        assert_kirchhoff(ladder, solution, whole)
    forth, back = np.zeros(len(sources)), np.zeros(len(sources))
    for ladder, solution in zip(ladders, whole.ladders, strict=True):
        for feed, amps, returned in zip(ladder.feeds, solution.feed_a, solution.feed_return_a, strict=True):
            forth[feed.source] += amps
            back[feed.source] += returned
    assert whole.source_a == pytest.approx(forth, abs=1e-9)
    assert forth == pytest.approx(back, abs=1e-7 * max(1.0, float(np.abs(forth).max())))
    volts, ohm = (np.array(column) for column in zip(*((s.volts, s.output_ohm) for s in sources), strict=True))
    assert whole.source_volts == pytest.approx(volts - ohm * forth, abs=1e-9)


@given(any_networks)
def test_volts_are_missing_exactly_where_no_feed_reaches(network: Network) -> None:
    sources, ladders = network
    for ladder, solution in zip(ladders, solve_network(sources, ladders).ladders, strict=True):
        for first, end in section_starts(ladder):
            fed = any(first <= feed.pixel < end for feed in ladder.feeds)
            assert np.isnan(solution.volts[first:end]).all() == (not fed)
            assert fed or not solution.load_a[first:end].any()


@given(networks, st.integers(0, 2**32 - 1))
def test_loads_superpose(network: Network, seed: int) -> None:
    """What two sets of loads pull the volts down together is the sum of what each pulls alone."""
    sources, ladders = network
    random = np.random.default_rng(seed)
    share = [random.uniform(0, 1, ladder.load_a.size) for ladder in ladders]

    def with_loads(loads: list[NDArray[np.float64]]) -> NDArray[np.float64]:
        changed = [replace(ladder, load_a=load) for ladder, load in zip(ladders, loads, strict=True)]
        return volts_of(solve_network(sources, changed))

    loads = [ladder.load_a for ladder in ladders]
    dark = with_loads([load * 0 for load in loads])
    one = with_loads([load * part for load, part in zip(loads, share, strict=True)])
    other = with_loads([load * (1 - part) for load, part in zip(loads, share, strict=True)])
    together = with_loads(loads)
    np.testing.assert_allclose(one + other - dark, together, rtol=0, atol=1e-8)


def with_more_copper(ladders: list[Ladder], seed: int) -> list[Ladder]:
    random = np.random.default_rng(seed)
    return [
        replace(
            ladder,
            step_ohm=ladder.step_ohm * float(random.uniform(0.2, 1)),
            feeds=tuple(replace(feed, loop_ohm=feed.loop_ohm * float(random.uniform(0.2, 1))) for feed in ladder.feeds),
        )
        for ladder in ladders
    ]


@given(networks, st.integers(0, 2**32 - 1))
def test_more_copper_lowers_no_volts_of_runs_with_one_feed(network: Network, seed: int) -> None:
    """Not so with two feeds: better copper between pixels lets the far ones draw past the near ones."""
    sources, ladders = network
    single = [replace(ladder, feeds=ladder.feeds[:1]) for ladder in ladders]
    before, after = (volts_of(solve_network(sources, runs)) for runs in (single, with_more_copper(single, seed)))
    assert ((after - before)[~np.isnan(before)] >= -1e-9).all()


@given(networks, st.integers(0, 2**32 - 1))
def test_more_copper_never_raises_what_copper_takes(network: Network, seed: int) -> None:
    """Rayleigh's monotonicity law: with equal supplies the loads' volts, weighted by their amps, can only rise."""
    sources, ladders = network
    equal = [replace(source, volts=12.0) for source in sources]
    fed = [replace(ladder, feeds=ladder.feeds or (FeedWire(0, 0, 0.1),)) for ladder in ladders]

    def to_the_loads_w(runs: list[Ladder]) -> float:
        return sum(float(np.nansum(run.volts * run.load_a)) for run in solve_network(equal, runs).ladders)

    assert to_the_loads_w(with_more_copper(fed, seed)) >= to_the_loads_w(fed) - 1e-8


@given(any_networks, st.randoms(use_true_random=False))
def test_order_of_ladders_does_not_matter(network: Network, random: Random) -> None:
    sources, ladders = network
    order = list(range(len(ladders)))
    random.shuffle(order)
    straight, shuffled = solve_network(sources, ladders), solve_network(sources, [ladders[place] for place in order])
    for place, number in enumerate(order):
        np.testing.assert_allclose(shuffled.ladders[place].volts, straight.ladders[number].volts, rtol=0, atol=1e-8)
    np.testing.assert_allclose(shuffled.source_a, straight.source_a, rtol=0, atol=1e-7)


@given(seeds.map(low_networks) | seeds.map(overloaded_loops))
# Pixels that leave the set of low ones and come back to it on the way to the solution.
@example(overloaded_loops(1024))
@example(overloaded_loops(2220))
@example(overloaded_loops(2459))
def test_low_pixels_draw_in_proportion_to_their_volts_and_never_below_none(network: Network) -> None:
    sources, ladders = network
    for ladder, solution in zip(ladders, solve_network(sources, ladders).ladders, strict=True):
        fed = ~np.isnan(solution.volts)
        assert (solution.volts[fed] > 0).all()
        expected = ladder.load_a * np.minimum(1.0, solution.volts / ladder.minimum_v)
        np.testing.assert_allclose(solution.load_a[fed], expected[fed], rtol=1e-8)
        assert (solution.below_minimum == (solution.volts < ladder.minimum_v * (1 - 1e-9))).all()


def test_a_run_far_too_long_for_its_feed_settles_with_falling_current() -> None:
    run = Ladder(np.full(4096, 0.06), 0.02, (FeedWire(0, 0, 0.02),), (), 3.5, current_falls=True)
    solution = solve_network([Source(5.0)], [run]).ladders[0]
    assert 0 < solution.volts.min() < solution.volts[0] < 5.0
    assert solution.load_a.sum() == pytest.approx(solution.feed_a[0])


def test_without_falling_current_low_pixels_keep_the_constant_figure_and_are_marked() -> None:
    run = Ladder(np.full(50, 0.02), 0.02, (FeedWire(0, 0, 0.02),), (), 4.6)
    solution = solve_network([Source(5.0)], [run]).ladders[0]
    assert solution.volts[-1] == pytest.approx(4.49)
    assert (solution.load_a == 0.02).all()
    assert (solution.below_minimum == (solution.volts < 4.6)).all()
    assert 0 < np.count_nonzero(solution.below_minimum) < 50


def test_supplies_that_one_section_joins_are_listed_and_a_fed_one_shows_negative_amps() -> None:
    feeds = (FeedWire(1, 0, 0.1), FeedWire(0, 9, 0.1), FeedWire(1, 20, 0.1))
    joined = Ladder(np.zeros(21), 0.01, feeds, (15,))
    parted = replace(joined, cuts=(5, 15))
    sources = [Source(5.0), Source(5.2)]
    assert solve_network(sources, [parted]).ladders[0].feed_a == pytest.approx([0.0, 0.0, 0.0], abs=1e-12)
    assert solve_network(sources, [parted, joined]).paralleled == ((1, 0, 1),)
    # 0.2 V around two feed wires and nine steps.
    alone = solve_network(sources, [replace(joined, feeds=feeds[:2])])
    assert alone.ladders[0].feed_a == pytest.approx([0.2 / 0.29, -0.2 / 0.29])
    assert alone.source_a == pytest.approx([-0.2 / 0.29, 0.2 / 0.29])


def test_output_resistance_is_shared_by_everything_on_the_supply() -> None:
    """2 A and 1 A together over 0.1 Ω take 0.3 V from both."""
    runs = [Ladder(np.array([amps]), 0.01, (FeedWire(0, 0, 0.05),)) for amps in (2.0, 1.0)]
    solution = solve_network([Source(12.0, 0.1)], runs)
    assert solution.source_volts == pytest.approx([11.7])
    assert [run.volts[0] for run in solution.ladders] == pytest.approx([11.6, 11.65])


@pytest.mark.parametrize("cuts", [(), (2000,)], ids=["plain", "meshed"])
def test_conductors_of_next_to_no_ohms_lose_next_to_nothing(cuts: tuple[int, ...]) -> None:
    feeds = (FeedWire(0, 0, 1e-300), FeedWire(0, 4095, 0.5))
    run = Ladder(np.full(4096, 0.001), 1e-300, feeds, cuts)
    whole = solve_network([Source(5.0, 1e-300)], [run])
    assert whole.source_a == pytest.approx([4.096], rel=1e-5)
    assert whole.ladders[0].volts[: (cuts or (4096,))[0]] == pytest.approx(5.0, abs=1e-3)


def test_a_network_of_nothing_has_nothing() -> None:
    assert solve_network([], []).ladders == ()
    alone = solve_network([Source(5.0, 0.1)], [])
    assert (alone.source_a.tolist(), alone.source_volts.tolist()) == ([0.0], [5.0])


GOOD = Ladder(np.full(10, 0.02), 0.01, (FeedWire(0, 0, 0.1), FeedWire(0, 9, 0.1)), (5,))


@pytest.mark.parametrize(
    ("source", "ladder", "told"),
    [
        (Source(0.0), GOOD, "sources[0].volts must be above 0 V, not 0.0"),
        (Source(float("nan")), GOOD, "sources[0].volts must be above 0 V, not nan"),
        (Source(5.0, -0.1), GOOD, "sources[0].output_ohm must be 0 Ω or more, not -0.1"),
        (Source(5.0), replace(GOOD, step_ohm=0.0), "ladders[1].step_ohm must be above 0 Ω, not 0.0"),
        (Source(5.0), replace(GOOD, step_ohm=float("inf")), "ladders[1].step_ohm must be above 0 Ω, not inf"),
        (Source(5.0), replace(GOOD, minimum_v=-1.0), "ladders[1].minimum_v must be 0 V or more, not -1.0"),
        (Source(5.0), replace(GOOD, load_a=np.zeros((2, 5))), "ladders[1].load_a must hold one current for each pixel"),
        (Source(5.0), replace(GOOD, load_a=np.zeros(0)), "ladders[1].load_a must hold one current for each pixel"),
        (Source(5.0), replace(GOOD, load_a=np.array([0.1, np.nan] * 5)), "ladders[1].load_a[1] must be 0 A or more"),
        (Source(5.0), replace(GOOD, load_a=np.array([0.1, -0.1] * 5)), "ladders[1].load_a[1] must be 0 A or more"),
        (Source(5.0), replace(GOOD, cuts=(0, 5)), "ladders[1].cuts[0] must lie before pixel 1 to 9, not 0"),
        (Source(5.0), replace(GOOD, cuts=(5, 10)), "ladders[1].cuts[1] must lie before pixel 1 to 9, not 10"),
        (Source(5.0), replace(GOOD, cuts=(5, 5)), "ladders[1].cuts[1] must follow the cut before it, 5, not be 5"),
        (Source(5.0), replace(GOOD, feeds=(FeedWire(1, 0, 0.1),)), "ladders[1].feeds[0].source must be one of the 1"),
        (Source(5.0), replace(GOOD, feeds=(FeedWire(0, 10, 0.1),)), "ladders[1].feeds[0].pixel must be one of the 10"),
        (Source(5.0), replace(GOOD, feeds=(FeedWire(0, -1, 0.1),)), "ladders[1].feeds[0].pixel must be one of the 10"),
        (Source(5.0), replace(GOOD, feeds=(FeedWire(0, 0, 0.0),)), "ladders[1].feeds[0].loop_ohm must be above 0 Ω"),
    ],
)
def test_bad_input_is_told_by_its_field(source: Source, ladder: Ladder, told: str) -> None:
    with pytest.raises(ValueError, match="must") as refused:
        solve_network([source], [GOOD, ladder])
    assert told in str(refused.value)

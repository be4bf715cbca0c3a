"""The network solver against ngspice (Debian's package), an independent solver, on random networks of both rails."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from hub.electrical.network import FeedWire, Ladder, LadderSolution, Source, solve_network
from tests.checks.ngspice import Readings, operating_point
from tests.hub.electrical.network.networks import Network, random_network

WORST = 1e-6
SEEDS = range(48)


@dataclass(frozen=True, slots=True)
class Difference:
    """Worst of a network, relative to its highest volts and highest amps."""

    volts: float
    amps: float


def difference(network: Network, folder: Path) -> Difference:
    sources, ladders = network
    ours, theirs = solve_network(sources, ladders), operating_point(sources, ladders, folder)
    volts: list[float] = [0.0]
    amps: list[float] = [float(np.abs(ours.source_a - theirs.source_a).max())]
    for run, solution in enumerate(ours.ladders):
        fed = ~np.isnan(solution.volts)
        volts += np.abs(solution.volts - theirs.volts[run])[fed].tolist()
        for mine, spice in _currents(solution, theirs, run):
            # No ammeter stands in a cut, where the solver must say 0 A.
            amps += np.abs(mine - np.nan_to_num(spice)).tolist()
    highest_a = max((float(np.abs(run.feed_a).max(initial=0.0)) for run in ours.ladders), default=0.0)
    return Difference(max(volts) / max(source.volts for source in sources), max(amps) / highest_a if highest_a else 0.0)


def _currents(
    solution: LadderSolution, theirs: Readings, run: int
) -> Iterator[tuple[NDArray[np.float64], NDArray[np.float64]]]:
    yield solution.feed_a, theirs.feed_a[run]
    yield solution.feed_return_a, theirs.feed_return_a[run]
    yield solution.step_a, theirs.step_a[run]
    yield solution.step_return_a, theirs.step_return_a[run]


def fed_only(network: Network) -> Network:
    """Without the loads that nothing feeds: a netlist of them has no operating point."""
    sources, ladders = network
    return sources, [_fed_only(ladder) for ladder in ladders]


def _fed_only(ladder: Ladder) -> Ladder:
    section = np.searchsorted(ladder.cuts, np.arange(ladder.load_a.size), side="right")
    fed = np.isin(section, section[[feed.pixel for feed in ladder.feeds]])
    return Ladder(np.where(fed, ladder.load_a, 0.0), ladder.step_ohm, ladder.feeds, ladder.cuts)


def test_random_networks_agree_with_ngspice_to_a_millionth(tmp_path: Path) -> None:
    found: dict[int, Difference] = {}
    cut = resistive = joined = shared_return = 0
    for seed in SEEDS:
        network = fed_only(random_network(seed))
        sources, ladders = network
        solution = solve_network(sources, ladders)
        cut += any(ladder.cuts for ladder in ladders)
        resistive += any(source.output_ohm for source in sources)
        joined += bool(solution.paralleled)
        shared_return += any(not np.allclose(run.feed_a, run.feed_return_a) for run in solution.ladders)
        found[seed] = difference(network, tmp_path)
    worst_volts = max(found, key=lambda seed: found[seed].volts)
    worst_amps = max(found, key=lambda seed: found[seed].amps)
    print(
        f"\n{len(found)} networks: {cut} with cuts, {resistive} with output resistance, {joined} with paralleled "
        f"supplies, {shared_return} with current past a cut on the negative rail. "
        f"Worst relative difference to ngspice: volts {found[worst_volts].volts:.1e} (seed {worst_volts}), "
        f"amps {found[worst_amps].amps:.1e} (seed {worst_amps})"
    )
    assert min(cut, resistive, joined, shared_return) >= 5
    assert found[worst_volts].volts <= WORST
    assert found[worst_amps].amps <= WORST


@pytest.mark.parametrize(
    ("cuts", "output_ohm", "sources_of_feeds"),
    [
        ((), 0.0, (0, 0)),
        ((150,), 0.0, (0, 1)),
        ((150,), 0.02, (0, 0)),
        ((100, 200), 0.02, (0, 1)),
        ((), 0.02, (0, 1)),
    ],
    ids=["one supply", "two supplies, cut", "one supply, cut", "middle unfed", "two supplies, paralleled"],
)
def test_long_run_agrees_with_ngspice(
    cuts: tuple[int, ...], output_ohm: float, sources_of_feeds: tuple[int, int], tmp_path: Path
) -> None:
    near, far = sources_of_feeds
    ladder = Ladder(np.full(300, 0.003), 0.1 / 60, (FeedWire(near, 0, 0.03), FeedWire(far, 299, 0.3)), cuts)
    found = difference(fed_only(([Source(5.0, output_ohm), Source(5.1, output_ohm)], [ladder])), tmp_path)
    assert found.volts <= WORST
    assert found.amps <= WORST


def test_runs_between_the_same_two_supplies_share_a_loop_of_negative_rails(tmp_path: Path) -> None:
    """Nothing crosses a cut of one such run alone; with two unlike ones the negative rails close a loop."""
    feeds = (FeedWire(0, 0, 0.02), FeedWire(1, 59, 0.2))
    bright, dark = (Ladder(np.full(60, amps), 0.002, feeds, (30,)) for amps in (0.02, 0.001))
    sources = [Source(5.0, 0.01), Source(5.0, 0.02)]
    assert solve_network(sources, [bright]).ladders[0].step_return_a[29] == pytest.approx(0.0, abs=1e-12)
    both = solve_network(sources, [bright, dark])
    assert both.ladders[0].step_return_a[29] == pytest.approx(-both.ladders[1].step_return_a[29])
    assert abs(both.ladders[0].step_return_a[29]) > 0.01
    found = difference((sources, [bright, dark]), tmp_path)
    assert max(found.volts, found.amps) <= WORST


def test_low_pixels_agree_with_ngspice_given_the_same_law(tmp_path: Path) -> None:
    """What low pixels draw in the end, put into ngspice as constant currents, gives the same volts."""
    feeds = (FeedWire(0, 0, 0.02), FeedWire(1, 200, 0.2))
    run = Ladder(np.full(201, 0.06), 0.004, feeds, (100,), minimum_v=3.5, current_falls=True)
    sources = [Source(5.0, 0.01), Source(5.0)]
    solution = solve_network(sources, [run]).ladders[0]
    low = solution.below_minimum
    assert 50 < np.count_nonzero(low) < 201
    assert solution.load_a[low] == pytest.approx(0.06 * solution.volts[low] / 3.5, rel=1e-12)
    drawn = Ladder(solution.load_a, run.step_ohm, feeds, run.cuts)
    theirs = operating_point(sources, [drawn], tmp_path)
    assert solution.volts == pytest.approx(theirs.volts[0], rel=WORST)

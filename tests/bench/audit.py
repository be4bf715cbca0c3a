"""Volts at every pixel of a large venue, and its whole audit: `python -m tests.bench.audit`.

Building the solver's objects from plain numbers is part of the time. One dense matrix of 100,000 rows would take 80 GB,
so the baseline solves the groups that share no supply one by one; `test_dense_network.py` holds that it finds the same.
"""

import statistics
import time
from collections.abc import Callable

from hub.audit import Told, audit_of, standing_of
from hub.electrical.network import solve_network
from tests.bench import networks
from tests.bench.dense_network import dense_volts
from tests.bench.line import print_line
from tests.bench.networks import Group
from tests.hub.desired.venues import row_venue

TARGET_S = 1.0
DENSE = "numpy.linalg.solve of a dense matrix for each group that shares no supply, one by one"


def median_s(work: Callable[[], object], rounds: int) -> float:
    """Median time after one warm-up, seconds."""
    times_s = []
    for _ in range(rounds + 1):
        start_s = time.perf_counter()
        work()
        times_s.append(time.perf_counter() - start_s)
    return statistics.median(times_s[1:])


def main() -> None:
    _bench(networks.one_supply_a_run, "1,000 supplies, 100,000 pixels, runs of 100 on one supply each")
    _bench(networks.four_supplies_a_run, "1,000 supplies, 100,000 pixels, runs of 400 on four supplies with cuts")
    _bench(networks.paralleled, "1,000 supplies, 100,000 pixels, paralleled in pairs")
    _bench(networks.long_run, "a run of 4,096 pixels, eight feeds", TARGET_S / 100)
    _bench_falling()
    _bench_whole()


def _bench(make: Callable[[], list[Group]], figure: str, target_s: float = TARGET_S) -> None:
    groups = make()
    print_line(
        bench="audit",
        figure=f"volts at every pixel: {figure}",
        unit="s",
        value=median_s(lambda: solve_network(*networks.joined(make())), 5),
        baseline=median_s(lambda: [dense_volts(group.sources, group.ladders) for group in groups], 3),
        baseline_is=DENSE,
        target=target_s,
    )


def _bench_falling() -> None:
    """The baseline solves once, with currents that do not fall."""
    groups = networks.falling()
    print_line(
        bench="audit",
        figure="volts at every pixel: as the first, low pixels drawing less, all passes",
        unit="s",
        value=median_s(lambda: solve_network(*networks.joined(networks.falling())), 5),
        baseline=median_s(lambda: [dense_volts(group.sources, group.ladders) for group in groups], 3),
        baseline_is=f"{DENSE}, in a single pass",
        target=TARGET_S,
    )


def _bench_whole() -> None:
    """From the venue as the inventory holds it to the finished audit, without the peaks of a scene."""
    venue = row_venue(nodes=networks.SUPPLIES, pixels=networks.PIXELS // networks.SUPPLIES // 2)
    groups = networks.one_supply_a_run()
    print_line(
        bench="audit",
        figure="whole audit: 1,000 supplies, 100,000 pixels, volts at three levels, every feed and fuse judged",
        unit="s",
        value=median_s(lambda: audit_of(standing_of(venue), None, None, Told({}, {})), 5),
        baseline=median_s(
            lambda: [dense_volts(group.sources, group.ladders) for group in groups for _level in range(3)], 3
        ),
        baseline_is=f"{DENSE}, volts alone at three levels, of as many supplies and pixels",
        target=TARGET_S,
    )


if __name__ == "__main__":
    main()

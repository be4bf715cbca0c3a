"""Start skew of boards with bad clocks on poor links, by the frames that they write, in true time.

Three real agents, their clocks wrong by 90 s, drifting by up to 200 ppm and leaping, each behind a relay that delays
and jitters; a real hub and its broker. The baseline is what boards would show that change when the message comes: the
spread of the three links' delays, drawn as the relays draw them. Loopback only; ends by itself. A machine that does
other work writes frames late, whatever the clocks say: there it is run by `chrt -r 10 python -m tests.bench.show_time`.
"""

import argparse
import random
import tempfile
from pathlib import Path

import numpy as np

from tests.bench.line import print_line
from tests.e2e.skewed_front import LINKS, VENUE, SkewedFront

MOST_TAKES = 1_000
TARGET_MS = 10.0


def spread_of_links_ms(takes: int) -> float:
    """99th percentile."""
    chance = random.Random(1)
    delays_s = np.array([[link.draw_s(chance) for link in LINKS.values()] for _ in range(takes)])
    return float(np.percentile(np.ptp(delays_s, axis=1), 99)) * 1_000


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--takes", type=int, default=100)
    takes = parser.parse_args().takes
    if not 1 <= takes <= MOST_TAKES:
        parser.error(f"--takes: 1 to {MOST_TAKES}")
    with tempfile.TemporaryDirectory() as folder, SkewedFront(Path(folder)) as front:
        revisions = [front.take(number) for number in range(1, takes + 1)]
        states = front.hub.node_views.states(VENUE)
        measured = front.measured(revisions)
    baseline_ms = spread_of_links_ms(takes)
    for what, percentile, skews_ms in (
        ("start skew", 99, measured.starts_ms),
        ("start skew", 50, measured.starts_ms),
        ("skew of the clocks alone", 99, measured.clocks_ms),
    ):
        print_line(
            bench="show_time", figure=f"{what}, {percentile}th percentile of {takes} takes", unit="ms",
            value=float(np.percentile(skews_ms, percentile)), baseline=baseline_ms,
            baseline_is="boards that change when the message comes, 99th percentile", target=TARGET_MS,
        )  # fmt: skip
    largest = max(states, key=lambda state: state.clock_dispersion_ms or 0.0)
    print_line(
        bench="show_time", figure=f"largest dispersion told ({largest.node})", unit="ms",
        value=largest.clock_dispersion_ms or 0.0, baseline=LINKS[largest.node].least_s * 1_000,
        baseline_is="half the least delay of its link: no exchange can tell better", target=40.0,
    )  # fmt: skip


if __name__ == "__main__":
    main()

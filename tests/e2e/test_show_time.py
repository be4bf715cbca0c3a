"""Boards whose clocks are wrong by 90 s, drift by 200 ppm and leap, on links that jitter, change as one.

`STRINGCOURSE_TAKES` makes more takes; the benchmark `tests.bench.show_time` makes a hundred and prints the percentile.
"""

import os
from pathlib import Path

import numpy as np
import pytest

from tests.e2e.skewed_front import BOARDS, VENUE, SkewedFront, skews_ms

TAKES = int(os.environ.get("STRINGCOURSE_TAKES", "12"))
SKEW_MS = 10.0


@pytest.mark.timeout(60 + 5 * TAKES)
def test_boards_with_bad_clocks_on_poor_links_change_as_one(tmp_path: Path) -> None:
    with SkewedFront(tmp_path) as front:
        revisions = [front.take(number) for number in range(1, TAKES + 1)]
        states = front.hub.node_views.states(VENUE)
    starts_s = front.starts_s(revisions)
    skews = skews_ms(starts_s)
    print(
        f"\nstart skew of {len(BOARDS)} boards over {TAKES} takes: median {np.median(skews):.2f} ms, 99th percentile "
        f"{np.percentile(skews, 99):.2f} ms, largest {skews.max():.2f} ms; dispersion told: "
        + ", ".join(f"{state.node} {state.clock_dispersion_ms:.1f} ms" for state in states)
    )
    # A busy machine now and then lets a process wait, which no clock can help.
    assert np.percentile(skews, 80) <= SKEW_MS
    assert all(state.clock_source == "hub" for state in states)
    for state in states:
        assert state.clock_offset_ms is not None
        _, skew_s, leap_s = BOARDS[state.node]
        assert state.clock_offset_ms / 1_000 == pytest.approx(-(skew_s + leap_s), abs=1.0), "the wall clock did leap"

"""Sweep: an edge of colour crosses the zone and leaves it."""

from typing import Literal

import numpy as np
import pytest

from node_agent.render.patterns.sweep import Sweep
from tests.node_agent.render.patterns.lights import cover


def sweep(leaves: Literal["onward", "back"] = "onward", soft_m: float = 0.0) -> Sweep:
    return Sweep(pattern="sweep", colour="#ffffff", leaves=leaves, cross_s=2.0, hold_s=1.0, rest_s=3.0, soft_m=soft_m)


def lit(pattern: Sweep, show_time_s: float, pixels: int = 20) -> list[int]:
    covers = cover(pattern, pixels, show_time_s)
    assert set(covers.tolist()) <= {0.0, 1.0}
    return np.flatnonzero(covers).tolist()


def test_it_crosses_the_zone_and_stays() -> None:
    assert lit(sweep(), 0.0) == []
    assert lit(sweep(), 0.5) == list(range(5))
    assert lit(sweep(), 1.5) == list(range(15))
    assert lit(sweep(), 2.0) == lit(sweep(), 2.9) == list(range(20))


def test_it_leaves_onward_or_back() -> None:
    assert lit(sweep(), 3.5) == list(range(5, 20))
    assert lit(sweep("back"), 3.5) == list(range(15))
    assert lit(sweep(), 5.0) == lit(sweep("back"), 5.0) == []
    assert lit(sweep(), 7.9) == []
    assert lit(sweep(), 8.5) == list(range(5))


def test_it_takes_as_long_on_a_longer_zone() -> None:
    assert lit(sweep(), 1.5, pixels=200) == list(range(150))


def test_a_negative_time_comes_from_the_other_end() -> None:
    """As a layer's negative time scale makes it: it rests first, then comes from the end."""
    assert lit(sweep(), -2.9) == []
    assert lit(sweep(), -3.5) == list(range(15, 20))


def test_its_edge_is_soft_over_its_length_and_eased() -> None:
    # The way is 2 m and the edge's own 1 m; after half of it the edge reaches from 0.5 m to 1.5 m.
    covers = cover(sweep(soft_m=1.0), 20, 1.0)
    share = np.clip((1.5 - (np.arange(20) + 0.5) * 0.1) / 1.0, 0, 1)
    np.testing.assert_allclose(covers, share**2 * (3 - 2 * share), atol=1e-5)


@pytest.mark.parametrize("soft_m", [0.0, 0.5, 300.0])
def test_the_whole_zone_is_covered_and_clear_whatever_the_edge(soft_m: float) -> None:
    for show_time_s, expected in ((2.0, 1.0), (2.5, 1.0), (5.0, 0.0), (7.0, 0.0), (0.0, 0.0)):
        assert (cover(sweep(soft_m=soft_m), 20, show_time_s) == expected).all()


def test_a_zone_without_extent_along_the_way_is_covered_at_once() -> None:
    upward = sweep().model_copy(update={"along": "y"})
    assert (cover(upward, 20, 0.0) == 0).all()
    assert (cover(upward, 20, 2.5) == 1).all()

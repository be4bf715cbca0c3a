"""The baseline of the audit's bench finds the same volts as the product."""

import numpy as np
import pytest

from hub.electrical.network import solve_network
from tests.bench import networks
from tests.bench.dense_network import dense_volts
from tests.bench.networks import Group


@pytest.mark.parametrize(
    "group",
    [networks.one_supply_a_run()[0], networks.four_supplies_a_run()[0], networks.paralleled()[0]],
    ids=["one supply", "four supplies, cut", "paralleled"],
)
def test_dense_matrix_gives_the_volts_of_the_solver(group: Group) -> None:
    ours = solve_network(group.sources, group.ladders)
    volts = np.concatenate([ladder.volts for ladder in ours.ladders])
    assert dense_volts(group.sources, group.ladders) == pytest.approx(volts, abs=1e-9)


def test_venues_have_the_size_that_the_bench_tells() -> None:
    for groups in (networks.one_supply_a_run(), networks.four_supplies_a_run(), networks.paralleled()):
        sources, ladders = networks.joined(groups)
        assert len(sources) == networks.SUPPLIES
        assert sum(ladder.load_a.size for ladder in ladders) == networks.PIXELS


def test_overloaded_venue_has_low_pixels() -> None:
    sources, ladders = networks.joined(networks.falling()[:1])
    assert solve_network(sources, ladders).ladders[0].below_minimum.mean() > 0.5

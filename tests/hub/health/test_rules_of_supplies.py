"""The rules of supplies: pure, one valid base and one thing changed per case."""

from dataclasses import replace

import pytest

from hub.health.rule import GOOD, UNKNOWN, Fault
from hub.health.rules import limited, overloaded
from hub.health.sight import Drawing
from tests.hub.health.sights import supply


@pytest.mark.parametrize(
    ("amps", "open_now", "faulty"),
    [
        ([1.6, 1.6], False, False),
        ([1.6, 1.7], False, True),
        ([1.6, 1.62], False, False),
        ([1.6, 1.62], True, True),
    ],
)
def test_supply_is_overloaded_over_its_budget(amps: list[float], open_now: bool, faulty: bool) -> None:
    drawing = [Drawing("bay-01", amps[0], 1.0), Drawing("bay-02", amps[1], 0.5)]
    outcome = overloaded.judge(supply(*drawing), open_now=open_now)
    assert isinstance(outcome, Fault) if faulty else outcome is GOOD


def test_supply_with_a_node_missing_can_be_proven_overloaded_but_not_well() -> None:
    assert isinstance(overloaded.judge(supply(Drawing("bay-01", 3.5, 1.0), fresh=False), open_now=False), Fault)
    missing = supply(Drawing("bay-01", 1.0, 1.0), fresh=False)
    for rule in (overloaded, limited):
        assert rule.judge(missing, open_now=True) is UNKNOWN
        assert rule.judge(supply(fresh=False), open_now=True) is UNKNOWN
        assert rule.judge(supply(), open_now=True) is GOOD, "nobody draws from it"


def test_node_over_its_own_share_is_a_fault_though_the_supply_has_room() -> None:
    others = Drawing("bay-02", 0.5, 1.0, granted_a=1.6)
    outcome = overloaded.judge(supply(others, Drawing("bay-01", 1.7, 1.0, granted_a=1.6)), open_now=False)
    assert isinstance(outcome, Fault)
    assert (outcome.evidence["reason"], outcome.evidence["share_a"]) == ("over its share", 1.6)
    black = Drawing("bay-01", 0.2, 1.0, granted_a=0.1)
    assert not overloaded.over_its_share(replace(black, limiter_scale=0.0)), "black, though idle it draws more"


@pytest.mark.parametrize(
    ("scale", "open_now", "faulty"),
    [(0.94, False, True), (0.96, False, False), (0.96, True, True), (0.99, True, False)],
)
def test_supply_is_limited_while_one_of_its_nodes_dims(scale: float, open_now: bool, faulty: bool) -> None:
    drawing = [Drawing("bay-01", 1.0, 1.0), Drawing("bay-02", 1.0, scale)]
    outcome = limited.judge(supply(*drawing), open_now=open_now)
    assert outcome.node == "bay-02" if isinstance(outcome, Fault) else outcome is GOOD
    assert isinstance(outcome, Fault) is faulty


def test_node_that_dims_for_its_share_is_told_with_the_share() -> None:
    outcome = limited.judge(supply(Drawing("bay-01", 1.0, 0.5, granted_a=1.0)), open_now=False)
    assert isinstance(outcome, Fault)
    assert (outcome.evidence["budget_a"], outcome.evidence["share_a"]) == (3.2, 1.0)
    assert "share of 1.0 A" in limited.words("psu-1", outcome.evidence).message

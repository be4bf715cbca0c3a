import itertools

import pytest

from hub.rollout.reconciler import BATCH, GRACE_S, LONGEST_DELAY_S, Reconciler
from schemas import Held
from tests.hub.rollout.words import SHA_A, SHA_B, reported

WANTED = Held(revision=3, sha256=SHA_A)
OLDER = Held(revision=2, sha256=SHA_A)


@pytest.fixture
def reconciler() -> Reconciler:
    reconciler = Reconciler()
    reconciler.set_in_force({"bay-01": WANTED, "bay-02": WANTED}, shows_from_s=0.0)
    return reconciler


def _hears(reconciler: Reconciler, held: Held, now_s: float, *, online: bool = True) -> None:
    reconciler.observe("bay-01", online=online, reported=reported(showing=held), now_s=now_s)


def test_idle_when_nothing_differs(reconciler: Reconciler) -> None:
    _hears(reconciler, WANTED, 1.0)
    assert reconciler.idle
    assert reconciler.due(100.0) == []


def test_node_that_differs_gets_its_document_after_a_moments_grace(reconciler: Reconciler) -> None:
    _hears(reconciler, OLDER, 10.0)
    assert reconciler.due(10.0) == []
    assert reconciler.due(10.0 + GRACE_S) == ["bay-01"]


def test_same_revision_with_another_hash_differs(reconciler: Reconciler) -> None:
    _hears(reconciler, Held(revision=3, sha256=SHA_B), 10.0)
    assert reconciler.due(10.0 + GRACE_S) == ["bay-01"]


def test_node_that_goes_on_differing_gets_it_ever_more_seldom(reconciler: Reconciler) -> None:
    times: list[int] = []
    for now_s in range(600):
        _hears(reconciler, OLDER, float(now_s))
        if reconciler.due(float(now_s)):
            times.append(now_s)
    gaps = [later - earlier for earlier, later in itertools.pairwise(times)]
    assert gaps[:5] == [2, 4, 8, 16, 32]
    assert set(gaps[5:]) == {int(LONGEST_DELAY_S)}


def test_node_that_caught_up_starts_afresh_when_it_differs_again(reconciler: Reconciler) -> None:
    _hears(reconciler, OLDER, 0.0)
    reconciler.due(GRACE_S)
    _hears(reconciler, WANTED, 3.0)
    assert reconciler.idle
    _hears(reconciler, OLDER, 10.0)
    assert reconciler.due(10.0 + GRACE_S) == ["bay-01"]


def test_node_that_is_off_is_left_alone_until_it_returns(reconciler: Reconciler) -> None:
    _hears(reconciler, OLDER, 0.0)
    _hears(reconciler, OLDER, 1.0, online=False)
    assert reconciler.idle
    _hears(reconciler, OLDER, 50.0)
    assert reconciler.due(50.0 + GRACE_S) == ["bay-01"]


def test_staged_is_not_behind_before_its_show_time(reconciler: Reconciler) -> None:
    reconciler.set_in_force({"bay-01": WANTED}, shows_from_s=20.0)
    reconciler.observe("bay-01", online=True, reported=reported(staged=WANTED, showing=OLDER), now_s=10.0)
    assert reconciler.due(20.0) == []
    assert reconciler.due(20.0 + GRACE_S) == ["bay-01"]


def test_work_of_one_turn_is_bounded_and_everyones_turn_comes() -> None:
    reconciler = Reconciler()
    nodes = [f"n-{number}" for number in range(2 * BATCH + 5)]
    reconciler.set_in_force(dict.fromkeys(nodes, WANTED), shows_from_s=0.0)
    reconciler.owe(nodes)
    turns = [reconciler.due(0.0) for _ in range(4)]
    assert [len(turn) for turn in turns] == [BATCH, BATCH, 5, 0]
    assert [node for turn in turns for node in turn] == nodes


def test_node_of_no_concern_is_ignored(reconciler: Reconciler) -> None:
    reconciler.owe(["stranger"])
    reconciler.observe("stranger", online=True, reported=None, now_s=0.0)
    assert reconciler.idle

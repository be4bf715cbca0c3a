"""Which nodes get their document again, and when; nobody else costs anything."""

import itertools
import random
from collections import Counter

import pytest

from hub.rollout.reconciler import BATCH, GRACE_S, JITTER, LONGEST_DELAY_S, LOOKED_AT, Reconciler
from schemas import Held
from tests.hub.rollout.words import SHA_A, SHA_B, reported

WANTED = Held(revision=3, sha256=SHA_A)
OLDER = Held(revision=2, sha256=SHA_A)


@pytest.fixture
def reconciler() -> Reconciler:
    reconciler = Reconciler(random.Random(1))
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
    times_s: list[float] = []
    for tenth in range(9_000):
        _hears(reconciler, OLDER, tenth / 10)
        if reconciler.due(tenth / 10):
            times_s.append(tenth / 10)
    gaps_s = [later - earlier for earlier, later in itertools.pairwise(times_s)]
    for gap_s, usual_s in zip(gaps_s, [2.0, 4.0, 8.0, 16.0, 32.0, *[LONGEST_DELAY_S] * len(gaps_s)], strict=False):
        assert (1 - JITTER) * usual_s - 0.1 <= gap_s <= (1 + JITTER) * usual_s + 0.1
    assert len({round(gap_s, 1) for gap_s in gaps_s[5:]}) > len(gaps_s[5:]) / 2


def test_nodes_that_fell_behind_together_come_apart() -> None:
    nodes = [f"n-{number}" for number in range(1_000)]
    reconciler = Reconciler(random.Random(2))
    reconciler.set_in_force(dict.fromkeys(nodes, WANTED), shows_from_s=0.0)
    older = reported(showing=OLDER)
    for node in nodes:
        reconciler.observe(node, online=True, reported=older, now_s=0.0)
    a_second: Counter[int] = Counter()
    for tenth in range(3_000):
        a_second[tenth // 10] += len(reconciler.due(tenth / 10))
    # In the fifth minute each is due once: evenly that would be 17 a second.
    assert max(a_second[second] for second in range(240, 300)) < 60


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


def test_ten_thousand_that_agree_cost_a_turn_nothing() -> None:
    """By what is looked at, not by the clock: the queue is empty, and nobody is asked about."""
    nodes = [f"n-{number}" for number in range(10_000)]
    reconciler = Reconciler()
    reconciler.set_in_force(dict.fromkeys(nodes, WANTED), shows_from_s=0.0)
    older = reported(showing=OLDER)
    for node in nodes:
        reconciler.observe(node, online=True, reported=older, now_s=0.0)
    caught_up = reported(showing=WANTED)
    for node in nodes:
        reconciler.observe(node, online=True, reported=caught_up, now_s=1.0)
    assert reconciler.idle
    turns = 0
    while reconciler._queue:
        before = len(reconciler._queue)
        assert reconciler.due(100.0) == []
        assert before - len(reconciler._queue) <= LOOKED_AT * BATCH
        turns += 1
    assert turns == 10_000 / (LOOKED_AT * BATCH)


def test_node_that_differs_while_others_caught_up_is_not_lost_among_them() -> None:
    nodes = [f"n-{number}" for number in range(5_000)]
    reconciler = Reconciler()
    reconciler.set_in_force(dict.fromkeys(nodes, WANTED), shows_from_s=0.0)
    older = reported(showing=OLDER)
    for node in nodes:
        reconciler.observe(node, online=True, reported=older, now_s=0.0)
    caught_up = reported(showing=WANTED)
    for node in nodes[:-1]:
        reconciler.observe(node, online=True, reported=caught_up, now_s=0.1)
    due = [node for tenth in range(20, 60) for node in reconciler.due(tenth / 10)]
    assert due[0] == nodes[-1]
    assert set(due) == {nodes[-1]}


def test_each_node_is_held_to_its_own_revision() -> None:
    reconciler = Reconciler()
    reconciler.set_in_force({"bay-01": WANTED, "bay-02": OLDER}, shows_from_s=0.0)
    for node in ("bay-01", "bay-02"):
        reconciler.observe(node, online=True, reported=reported(showing=OLDER), now_s=0.0)
    assert reconciler.due(GRACE_S) == ["bay-01"]


def test_documents_that_are_owed_do_not_get_in_the_way_of_their_take() -> None:
    reconciler = Reconciler()
    reconciler.set_in_force({"bay-01": WANTED}, shows_from_s=20.0)
    reconciler.owe(["bay-01"])
    assert reconciler.due(19.9) == []
    assert reconciler.due(20.0) == ["bay-01"]

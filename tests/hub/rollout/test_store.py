"""Rollouts and snapshots in a real database: newest first, the two last taken never lost."""

import threading

import pytest
from sqlalchemy import Engine

from hub.errors import NotFoundError
from hub.rollout.models import Rollout, RolloutState
from hub.rollout.snapshot import Snapshot
from hub.rollout.store import KEPT_ROLLOUTS, RolloutStore
from tests.hub.conftest import on_each_database
from tests.hub.desired.venues import row_venue

pytestmark = on_each_database
SHA = "a" * 64
LONG_AGO_MS = 1_700_000_000_000


def row(revision: int, state: RolloutState = RolloutState.TAKEN, venue: str = "arcade", sha256: str = SHA) -> Rollout:
    return Rollout(
        venue=venue,
        revision=revision,
        snapshot_sha256=sha256,
        state=state,
        fade_ms=500,
        started_at_ms=LONG_AGO_MS,
        nodes_expected=3,
    )


@pytest.fixture
def store(engine: Engine) -> RolloutStore:
    store = RolloutStore(engine)
    store.keep_snapshot(SHA, "{}")
    return store


def test_rollout_comes_back_as_it_was_last_saved(store: RolloutStore) -> None:
    highest = 2**53 - 1
    store.save(row(highest, RolloutState.STAGING))
    saved = store.rollout("arcade", highest)
    saved.state, saved.take_at_ms, saved.reason = RolloutState.TAKEN, LONG_AGO_MS + 5, "naïve – ✓ " * 500
    store.save(saved)
    assert store.rollout("arcade", highest) == saved
    with pytest.raises(NotFoundError):
        store.rollout("elsewhere", highest)


def test_newest_and_pages_are_the_venues_own(store: RolloutStore) -> None:
    for revision, state in ((1, RolloutState.TAKEN), (2, RolloutState.TAKEN), (3, RolloutState.HALTED)):
        store.save(row(revision, state))
    store.save(row(9, venue="kiosk"))
    newest, taken, before = store.newest("arcade"), store.newest_taken("arcade"), store.newest_taken("arcade", 2)
    assert [one and one.revision for one in (newest, taken, before)] == [3, 2, 1]
    assert store.newest_taken("arcade", 1) is None
    assert [one.revision for one in store.page("arcade", None, 2)] == [3, 2]
    assert [one.revision for one in store.page("arcade", 2, 5)] == [1]


def test_snapshot_is_kept_once_and_read_back(engine: Engine) -> None:
    store = RolloutStore(engine)
    snapshot = Snapshot(venue=row_venue(nodes=2), telemetry_interval_s=5.0)
    store.keep_snapshot(SHA, snapshot.model_dump_json())
    store.keep_snapshot(SHA, snapshot.model_dump_json())
    assert store.snapshot(SHA) == snapshot
    assert not store.knows_snapshot("arcade", SHA)
    store.save(row(1))
    assert store.knows_snapshot("arcade", SHA)


def test_prune_spares_the_newest_the_two_last_taken_and_the_snapshots_they_stand_for(store: RolloutStore) -> None:
    old, other = "b" * 64, "c" * 64
    store.keep_snapshot(old, "{}")
    store.keep_snapshot(other, "{}")
    store.save(row(1, sha256=old))
    store.save(row(2, sha256=old))
    store.save(row(3, RolloutState.HALTED, sha256=other))
    store.save(row(1, venue="kiosk"))
    for revision in range(4, 4 + KEPT_ROLLOUTS):
        store.save(row(revision, RolloutState.HALTED))
    store.prune("arcade")
    kept = [one.revision for one in store.page("arcade", None, 100)]
    assert kept == [*range(3 + KEPT_ROLLOUTS, 3, -1), 2, 1]
    assert store.newest("kiosk") is not None
    with pytest.raises(NotFoundError):
        store.snapshot(other)
    assert store.knows_snapshot("arcade", old)


def test_snapshot_that_several_keep_at_once_is_kept(store: RolloutStore) -> None:
    wrong: list[Exception] = []
    together = threading.Barrier(4)

    def keep() -> None:
        for number in range(20):
            together.wait(10)
            try:
                store.keep_snapshot(f"{number:064d}", "{}")
            except Exception as error:
                wrong.append(error)

    threads = [threading.Thread(target=keep) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    assert wrong == []

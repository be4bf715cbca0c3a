"""The state on disk is the old or the new one, whatever happens to the process or to the files."""

import itertools
import multiprocessing
import os
import random
import resource
import time
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from node_agent.store import DAMAGED_FILES_KEPT, GRANT, SESSION, SHOWING, STAGED, Store, StoreError
from schemas import TakeTime
from tests.node_agent.documents import body, channel, desired, grant, scene

ROUNDS = 60


def test_new_directory_holds_nothing_and_reports_no_damage(tmp_path: Path) -> None:
    store = Store(tmp_path / "state" / "deeper")
    assert (store.showing, store.staged, store.grant, store.damaged_state) == (None, None, None, None)


def test_staged_and_taken_documents_survive_a_restart(tmp_path: Path) -> None:
    store = Store(tmp_path)
    taken = desired(1, take=TakeTime(at_ms=5))
    store.take(taken)
    store.stage(desired(2))
    again = Store(tmp_path)
    assert again.showing == taken
    assert again.staged == desired(2)


def test_take_leaves_nothing_staged(tmp_path: Path) -> None:
    store = Store(tmp_path)
    store.stage(desired(2))
    store.take(desired(2))
    assert Store(tmp_path).staged is None


def test_power_cut_between_the_two_steps_of_a_take_leaves_it_taken(tmp_path: Path) -> None:
    store = Store(tmp_path)
    store.stage(desired(2))
    staged = (tmp_path / STAGED).read_bytes()
    store.take(desired(2))
    (tmp_path / STAGED).write_bytes(staged)
    again = Store(tmp_path)
    assert again.showing == desired(2)
    assert again.staged is None
    assert not (tmp_path / STAGED).exists()


def test_session_counts_on_across_restarts_and_wraps(tmp_path: Path) -> None:
    assert [Store(tmp_path).next_session() for _ in range(3)] == [0, 1, 2]
    store = Store(tmp_path)
    assert [store.next_session() for _ in range(254)][-2:] == [255, 0]


@pytest.mark.parametrize("name", [SHOWING, STAGED, SESSION, GRANT])
@pytest.mark.parametrize("fault", ["empty", "cut short", "one bit", "another file", "huge", "not text"])
def test_damaged_file_is_set_aside_and_told_and_the_others_stay(tmp_path: Path, name: str, fault: str) -> None:
    store = Store(tmp_path)
    store.take(desired(1))
    store.stage(desired(2))
    store.next_session()
    store.keep_grant(grant(3))
    path = tmp_path / name
    whole = path.read_bytes()
    flipped = bytearray(whole)
    flipped[-3] ^= 1
    path.write_bytes(
        {
            "empty": b"",
            "cut short": whole[:-1],
            "one bit": bytes(flipped),
            "another file": (tmp_path / (SESSION if name != SESSION else SHOWING)).read_bytes(),
            "huge": whole + b" " * 5_000_000,
            "not text": os.urandom(500),
        }[fault]
    )
    again = Store(tmp_path)
    assert again.damaged_state is not None
    assert name in again.damaged_state
    assert (tmp_path / f"{name}.damaged-1").exists()
    assert again.showing == (None if name == SHOWING else desired(1))
    assert again.staged == (None if name == STAGED else desired(2))
    assert again.next_session() == (0 if name == SESSION else 1)
    assert again.grant == (None if name == GRANT else grant(3))
    assert Store(tmp_path).damaged_state is None


def test_only_a_few_damaged_files_are_kept(tmp_path: Path) -> None:
    for _ in range(DAMAGED_FILES_KEPT + 3):
        (tmp_path / SHOWING).write_bytes(b"rubbish")
        assert Store(tmp_path).showing is None
    assert len(list(tmp_path.iterdir())) == DAMAGED_FILES_KEPT


def test_directory_that_cannot_be_made_is_named_with_the_remedy(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError, match=r"file/state.*create it"):
        Store(tmp_path / "file" / "state")


def test_disk_that_is_full_leaves_the_old_state_and_no_part_of_the_new(tmp_path: Path) -> None:
    store = Store(tmp_path)
    store.stage(desired(1))
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1_000, before[1]))
    try:
        with pytest.raises(StoreError, match="disk is not full"):
            store.stage(desired(2))
        assert store.next_session() == 0
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert store.staged == desired(1)
    assert Store(tmp_path).staged == desired(1)
    assert not list(tmp_path.glob(".*"))


def _write_for_ever(folder: Path, first: int, acknowledged: Connection) -> None:
    """Stages and takes revision after revision; tells each one that is on disk."""
    store = Store(folder)
    content = body(channels=(channel(pixels=4000),), scenes=tuple(scene(identifier=f"s-{i}") for i in range(60)))
    for revision in itertools.count(first):
        document = desired(revision, content)
        store.keep_grant(grant(revision))
        store.stage(document)
        store.take(document)
        acknowledged.send(revision)


def test_process_killed_in_mid_write_leaves_the_old_or_the_new_state(tmp_path: Path) -> None:
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([__name__])
    chance = random.Random(1)
    held = 0
    cut_in_mid_write = 0
    for _ in range(ROUNDS):
        receiver, sender = context.Pipe(duplex=False)
        writer = context.Process(target=_write_for_ever, args=(tmp_path, held + 1, sender), daemon=True)
        writer.start()
        sender.close()
        assert receiver.poll(20), "the writer did not write"
        time.sleep(chance.uniform(0, 0.02))
        writer.kill()
        writer.join(10)
        writer.close()
        acknowledged = held
        try:
            while receiver.poll():
                acknowledged = receiver.recv()
        except EOFError:
            pass
        receiver.close()
        cut_in_mid_write += any(tmp_path.glob(".*.writing")) or (tmp_path / STAGED).exists()
        store = Store(tmp_path)
        assert store.damaged_state is None
        assert store.showing is not None
        assert store.showing.revision in (acknowledged, acknowledged + 1)
        assert store.staged is None or store.staged.revision == store.showing.revision + 1
        assert store.grant is not None
        assert store.grant.number in (store.showing.revision, store.showing.revision + 1)
        assert not list(tmp_path.glob(".*.writing"))
        store.drop_staged()
        held = store.showing.revision
    assert held > ROUNDS
    assert cut_in_mid_write > 0, "no kill fell into a write: the test proved nothing"

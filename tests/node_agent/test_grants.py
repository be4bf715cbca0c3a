"""Which grants a node takes, what it keeps of them, and when it says that its wires obey."""

from pathlib import Path

import pytest

from node_agent.grants import Grants, Known, Newer, Passed, Unreadable, judge
from node_agent.rejections import Rejections
from node_agent.store import Store
from schemas import Grant
from tests.conftest import NODES, VENUE
from tests.node_agent.documents import grant

BOOT, OTHER_BOOT = "0a0b0c0d", "ffffffff"


def payload(made: Grant) -> bytes:
    return made.model_dump_json().encode()


class Rig:
    """Grants over a real store."""

    def __init__(self, folder: Path, boot_id: str = BOOT) -> None:
        self.obeyed: list[Grant] = []
        self.rejections = Rejections()
        self.grants = Grants(VENUE, NODES[0], boot_id, Store(folder), self.obeyed.append, self.rejections)
        self.grants.restore()


@pytest.mark.parametrize(
    ("held", "made", "verdict"),
    [
        (grant(4), grant(5), Newer),
        (grant(4), grant(5, boot_id=OTHER_BOOT), Newer),
        (grant(4), grant(4), Known),
        (grant(4), grant(3), Passed),
        (None, grant(5, boot_id=BOOT), Newer),
        (None, grant(5), Passed),
        (None, grant(5, boot_id=OTHER_BOOT), Passed),
        (grant(4), grant(5, node=NODES[1]), Unreadable),
        (grant(4), grant(5, venue="elsewhere"), Unreadable),
    ],
    ids=[
        "newer",
        "newer, of another boot",
        "the same once more",
        "older",
        "first, for this boot",
        "first, for no boot",
        "first, for the boot of a predecessor",
        "of another node",
        "of another venue",
    ],
)
def test_verdict(held: Grant | None, made: Grant, verdict: type) -> None:
    assert isinstance(judge(payload(made), VENUE, NODES[0], held, BOOT), verdict)


@pytest.mark.parametrize("rubbish", [b"", b"{}", b"\xff", b"[" * 5_000, payload(grant(5))[:-1]])
def test_rubbish_is_counted_and_changes_nothing(rubbish: bytes, tmp_path: Path) -> None:
    rig = Rig(tmp_path)
    rig.grants.receive(payload(grant(1, boot_id=BOOT)))
    assert not rig.grants.receive(rubbish)
    assert rig.rejections.count == 1
    assert rig.obeyed == [grant(1, boot_id=BOOT)]


def test_grant_is_on_disk_before_it_is_obeyed(tmp_path: Path) -> None:
    on_disk: list[Grant | None] = []
    store = Store(tmp_path)
    grants = Grants(VENUE, NODES[0], BOOT, store, lambda _grant: on_disk.append(Store(tmp_path).grant), Rejections())
    assert grants.receive(payload(grant(1, boot_id=BOOT)))
    assert on_disk == [grant(1, boot_id=BOOT)]


def test_grant_that_cannot_be_kept_is_not_obeyed(tmp_path: Path) -> None:
    rig = Rig(tmp_path)
    rig.grants.receive(payload(grant(1, 0.5, boot_id=BOOT)))
    (tmp_path / ".grant.json.writing").mkdir()
    assert not rig.grants.receive(payload(grant(2, 3.0)))
    assert [one.number for one in rig.obeyed] == [1]
    assert rig.grants.held is not None
    assert rig.grants.held.number == 1


def test_kept_grant_is_obeyed_after_a_restart_before_anybody_is_heard(tmp_path: Path) -> None:
    Rig(tmp_path).grants.receive(payload(grant(7, boot_id=BOOT)))
    again = Rig(tmp_path, OTHER_BOOT)
    assert [one.number for one in again.obeyed] == [7]
    assert again.grants.held is not None
    assert (again.grants.held.number, again.grants.held.on_wires) == (7, False)
    assert not again.grants.receive(payload(grant(6, boot_id=OTHER_BOOT)))


def test_grant_of_another_node_on_disk_is_not_obeyed(tmp_path: Path) -> None:
    Store(tmp_path).keep_grant(grant(7, node=NODES[1]))
    rig = Rig(tmp_path)
    assert (rig.obeyed, rig.grants.held) == ([], None)


def test_only_the_newest_grant_is_said_to_be_on_the_wires_and_once(tmp_path: Path) -> None:
    rig = Rig(tmp_path)
    assert not rig.grants.reached_wires(1)
    rig.grants.receive(payload(grant(1, boot_id=BOOT)))
    rig.grants.receive(payload(grant(2)))
    assert not rig.grants.reached_wires(1)
    assert not rig.grants.reached_wires(0)
    assert rig.grants.reached_wires(2)
    assert not rig.grants.reached_wires(2)
    assert rig.grants.held is not None
    assert rig.grants.held.on_wires
    assert rig.grants.receive(payload(grant(2))), "the hub asks again: it may have missed the word"

"""Searches in the database: bounded, changed by one at a time, found again."""

import pytest
from sqlalchemy import Engine
from sqlmodel import Session

from hub.errors import ConflictError, NotFoundError
from hub.fault_finding.models import FaultFinding
from hub.fault_finding.store import KEPT, FaultFindingStore
from tests.hub.conftest import on_each_database


def row(venue: str = "arcade", node: str = "bay-01") -> FaultFinding:
    return FaultFinding(venue=venue, node=node, step="what-is-seen", begun_at_ms=1)


@on_each_database
def test_what_is_kept_is_bounded_and_changed_by_one_at_a_time(engine: Engine) -> None:
    store = FaultFindingStore(engine)
    elsewhere = store.add(row(venue="pier"))
    with Session(engine) as session:
        session.add_all(row() for _ in range(KEPT))
        session.commit()
    numbers = [one.id or 0 for one in reversed(store.listed("arcade", None, None, None, KEPT))]
    numbers += [store.add(row()).id or 0, store.add(row()).id or 0]
    assert [one.id for one in store.listed("arcade", None, None, None, KEPT + 5)] == numbers[:1:-1]
    assert [one.id for one in store.listed("arcade", "bay-01", False, numbers[4], 5)] == [numbers[3], numbers[2]]
    assert store.listed("arcade", "bay-02", None, None, 5) == store.listed("arcade", None, True, None, 5) == []
    assert store.one("pier", elsewhere.id or 0).node == "bay-01"
    with pytest.raises(NotFoundError):
        store.one("arcade", elsewhere.id or 0)
    mine, theirs = store.one("arcade", numbers[-1]), store.one("arcade", numbers[-1])
    mine.step, theirs.step = "silent-heard", "supply-volts"
    store.save(mine)
    with pytest.raises(ConflictError, match="somebody else"):
        store.save(theirs)
    mine.mended = True
    store.save(mine)
    found = store.one("arcade", numbers[-1])
    assert (found.step, found.mended, found.changes) == ("silent-heard", True, 2)

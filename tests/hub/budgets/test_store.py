from sqlalchemy import Engine

from hub.budgets.entry import Entry
from hub.budgets.ledger import Step
from hub.budgets.store import BudgetStore
from tests.hub.conftest import on_each_database

pytestmark = on_each_database


def test_ledger_is_read_as_it_was_saved_and_only_of_its_venue(engine: Engine) -> None:
    store = BudgetStore(engine)
    first = Entry(2**45, 3, "0a0b0c0d", {"s": 1_500}, {"s": 2_000, "t": 10}, heard=True, known=True)
    second = Entry(1, released=True)
    store.save("arcade", Step({"a": first, "b": second}, (), doubted=True))
    store.save("elsewhere", Step({"a": Entry(7)}, (), doubted=None))
    ledger = store.ledger("arcade")
    assert ledger.entries == {"a": first, "b": second}
    assert ledger.doubted
    assert store.ledger("elsewhere").entries == {"a": Entry(7)}
    assert not store.ledger("elsewhere").doubted
    assert store.ledger("nowhere").entries == {}


def test_what_is_saved_again_replaces_what_was(engine: Engine) -> None:
    store = BudgetStore(engine)
    store.save("arcade", Step({"a": Entry(1, granted={"s": 5}, reserved={"s": 5, "t": 9}), "b": Entry(4)}, (), None))
    store.save("arcade", Step({"a": Entry(2, granted={"s": 5}, reserved={"s": 5})}, (), None))
    store.save("arcade", Step({}, (), None))
    assert store.ledger("arcade").entries == {"a": Entry(2, granted={"s": 5}, reserved={"s": 5}), "b": Entry(4)}

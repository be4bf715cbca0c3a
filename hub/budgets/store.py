"""The ledger in the database. A step is saved in one transaction, before anything of it is published."""

from sqlalchemy import Engine, delete, insert
from sqlmodel import Session, col, select

from hub.budgets.entry import Entry
from hub.budgets.ledger import Ledger, Step
from hub.budgets.models import BudgetLedger, BudgetNode, BudgetShare


class BudgetStore:
    """Every call is one short transaction."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def ledger(self, venue: str) -> Ledger:
        """As it was saved last; an empty one for a venue that was never heard of."""
        with Session(self._engine) as session:
            kept = session.get(BudgetLedger, venue)
            nodes = session.exec(select(BudgetNode).where(BudgetNode.venue == venue)).all()
            shares = session.exec(select(BudgetShare).where(BudgetShare.venue == venue)).all()
        granted: dict[str, dict[str, int]] = {}
        reserved: dict[str, dict[str, int]] = {}
        for share in shares:
            for amounts, amount in ((granted, share.granted_ma), (reserved, share.reserved_ma)):
                if amount > 0:
                    amounts.setdefault(share.node, {})[share.supply] = amount
        entries = {
            row.node: Entry(
                number=row.number,
                confirmed=row.confirmed,
                boot_id=row.boot_id,
                granted=granted.get(row.node, {}),
                reserved=reserved.get(row.node, {}),
                heard=row.heard,
                known=row.known,
                released=row.released,
            )
            for row in nodes
        }
        return Ledger(entries, kept is not None and kept.doubted)

    def save(self, venue: str, step: Step) -> None:
        nodes = list(step.entries)
        with Session(self._engine) as session:
            if step.doubted is not None:
                session.merge(BudgetLedger(venue=venue, doubted=step.doubted))
            for table in (BudgetNode, BudgetShare):
                session.execute(delete(table).where(col(table.venue) == venue, col(table.node).in_(nodes)))
            if nodes:
                session.execute(insert(BudgetNode), [_node_row(venue, *item) for item in step.entries.items()])
            shares = [row for item in step.entries.items() for row in _share_rows(venue, *item)]
            if shares:
                session.execute(insert(BudgetShare), shares)
            session.commit()


def _node_row(venue: str, node: str, entry: Entry) -> dict[str, object]:
    return {
        "venue": venue,
        "node": node,
        "number": entry.number,
        "confirmed": entry.confirmed,
        "boot_id": entry.boot_id,
        "heard": entry.heard,
        "known": entry.known,
        "released": entry.released,
    }


def _share_rows(venue: str, node: str, entry: Entry) -> list[dict[str, object]]:
    return [
        {
            "venue": venue,
            "node": node,
            "supply": supply,
            "granted_ma": entry.granted.get(supply, 0),
            "reserved_ma": reserved_ma,
        }
        for supply, reserved_ma in entry.reserved.items()
    ]

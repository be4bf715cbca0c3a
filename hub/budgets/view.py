"""Budgets as the API shows them."""

from collections.abc import Set

from pydantic import BaseModel, Field

from hub.budgets.entry import Entry
from hub.budgets.ledger import Contact, Ledger
from hub.desired.budgets import fixed_shares_ma
from schemas import Venue
from schemas.venue import Sharing

LONG_UNCONFIRMED_S = 60.0


class NodeShare(BaseModel):
    """One node's part of a supply."""

    node: str
    fixed_a: float = Field(description="Its share in proportion to its worst case.")
    granted_a: float = Field(description="What its newest grant allows.")
    reserved_a: float = Field(description="The most that it may still be under; nobody else can have that.")
    confirmed: bool = Field(description="Whether it has said that it keeps and shows its newest grant.")
    wanted_a: float | None = Field(description="The most that its scene asked for lately; told where shared by need.")
    online: bool
    note: str | None = Field(description="Why its share is not what it should be, and what to do about it.")


class SupplyBudget(BaseModel):
    """A supply's budget and who may draw how much of it."""

    supply: str
    title: str | None
    sharing: Sharing | None = Field(description="None for a supply that the venue no longer has.")
    budget_a: float
    reserved_a: float = Field(description="The most that all its nodes together may draw now.")
    nodes: list[NodeShare]


def views_of(ledger: Ledger, venue: Venue | None, online: Set[str], now_s: float) -> list[SupplyBudget]:
    """Every supply that the venue has, that a revision on its way needs, or that something is still reserved on."""
    supplies = {supply.id: supply for supply in venue.supplies} if venue else {}
    present = {node.id for node in venue.nodes} if venue else set()
    held = {supply for entry in ledger.entries.values() for supply in entry.reserved}
    views: list[SupplyBudget] = []
    for supply in sorted(supplies.keys() | ledger.demands.keys() | held):
        demand = ledger.demands.get(supply)
        fixed = fixed_shares_ma(demand.whole_ma, demand.loads) if demand else {}
        shares: list[NodeShare] = []
        for node in ledger.nodes_on(supply):
            entry, contact = ledger.entries.get(node, Entry()), ledger.contacts.get(node, Contact())
            wanted_ma = ledger.wanted.get((node, supply))
            shares.append(
                NodeShare(
                    node=node,
                    fixed_a=fixed.get(node, 0) / 1_000,
                    granted_a=entry.granted.get(supply, 0) / 1_000,
                    reserved_a=entry.reserved.get(supply, 0) / 1_000,
                    confirmed=entry.number > 0 and not entry.unconfirmed,
                    wanted_a=None if wanted_ma is None else wanted_ma / 1_000,
                    online=node in online,
                    note=_note(node, entry, contact, present, online, now_s, doubted=ledger.doubted),
                )
            )
        known = supplies.get(supply)
        views.append(
            SupplyBudget(
                supply=supply,
                title=known.title if known else None,
                sharing=known.sharing if known else None,
                budget_a=(demand.whole_ma if demand else 0) / 1_000,
                reserved_a=sum(ledger.committed_ma(supply, node) for node in ledger.nodes_on(supply)) / 1_000,
                nodes=shares,
            )
        )
    return views


def _note(
    node: str, entry: Entry, contact: Contact, present: Set[str], online: Set[str], now_s: float, *, doubted: bool
) -> str | None:
    if node not in present and entry.reserved:
        return "no longer in the venue, but its pixels may hold their light: switch its board off, then release it"
    if entry.released:
        return "released: nothing is reserved for it until it is heard again"
    if doubted and not entry.known:
        return "may hold a grant that this hub does not know of: nothing is raised on its supplies until it is heard"
    if node not in online and entry.reserved:
        return "off, and its pixels may hold their light: its share stays its own; release it once the board is gone"
    if entry.unconfirmed and node in online and contact.issued_at_s + LONG_UNCONFIRMED_S < now_s:
        return "does not confirm its newest grant: see whether a data line fails, and the free space of its disk"
    return None

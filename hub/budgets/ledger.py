"""The ledger of one venue: who may draw how much of each supply. A pure state machine; time comes as an argument.

    what nodes say, what the venue asks for -> `step` -> save `Step.entries` -> `accept` -> publish `Step.issued`

The rule that everything rests on: a grant is raised only while the most that *every* node on the supply may be under,
the raise included, adds up to no more than the budget. What a node may be under only falls when it has said that it
keeps and shows the newest grant (or a person that it is off for good). So a share moves by lowering one node, waiting
for its word, and then raising another; nothing expires by itself, for the pixels of a dead board hold their light.
"""

import logging
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Final

from hub.budgets.entry import LARGEST_NUMBER, Amounts, Entry, amounts_held, highest
from hub.budgets.sharing import Claim, share_by_need
from hub.desired.budgets import Load, fixed_shares_ma
from schemas import GrantHeld
from schemas.bounds import MAX_SUPPLIES_PER_GRANT

NUMBERS_SKIPPED: Final = 1_000
"""Above a number that the ledger does not know of, so many are left out: older grants may still be on their way."""

LARGEST_NUMBER_JUMP: Final = 10**9
"""A claim further above what is known is not believed, or one message could use a node's numbers up."""

MOVE_EVERY_S: Final = 2.0
REPEAT_S: Final = 2.0
REPEAT_GROWTH: Final = 1.25
LONGEST_REPEAT_S: Final = 60.0
STUCK_S: Final = 10.0
LEAST_RAISE_MA: Final = 50

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Demand:
    """One supply: its whole budget, how it is shared, and the load of each node on it."""

    whole_ma: int
    by_need: bool
    loads: Mapping[str, Load]


@dataclass(slots=True)
class Contact:
    """What a node last said, and when it was last told; nothing here needs to outlive the hub."""

    online: bool = False
    boot_id: str | None = None
    holds: bool = False
    issued_at_s: float = float("-inf")
    repeat_at_s: float = float("-inf")
    repeat_wait_s: float = REPEAT_S


@dataclass(frozen=True, slots=True)
class Step:
    """`entries` are to be saved in one transaction, then accepted; then the grants of `issued` may be published."""

    entries: Mapping[str, Entry]
    issued: tuple[str, ...]
    doubted: bool | None
    """None where it is as it was saved."""

    @property
    def empty(self) -> bool:
        return not self.entries and self.doubted is None


@dataclass(slots=True)
class Ledger:
    """`doubted`: nodes hold what this ledger did not give them (its database was lost, or an older one put back).

    While that lasts shares are the fixed ones, and nothing is raised on a supply before each of its nodes has confirmed
    a number of this ledger.
    """

    entries: dict[str, Entry] = field(default_factory=dict)
    doubted: bool = False
    demands: Mapping[str, Demand] = field(default_factory=dict)
    contacts: dict[str, Contact] = field(default_factory=dict)
    wanted: dict[tuple[str, str], int] = field(default_factory=dict)
    _members: Collection[str] = ()
    _shares: dict[str, Mapping[str, int]] = field(default_factory=dict)
    _moved_at_s: dict[str, float] = field(default_factory=dict)
    _supplies: dict[str, set[str]] = field(default_factory=dict)
    _holders: dict[str, set[str]] = field(default_factory=dict)
    _due: dict[str, None] = field(default_factory=dict)
    _unsaved: dict[str, None] = field(default_factory=dict)
    _doubt_unsaved: bool = False
    _pending: dict[str, None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for node, entry in self.entries.items():
            self._index(node, Entry(), entry)

    def set_demands(self, demands: Mapping[str, Demand], members: Collection[str]) -> None:
        """What the venue asks for: over the inventory, the revision in force and one being staged. `members` are the
        nodes of these; a node that is none keeps what is reserved for it until it confirms an empty grant."""
        self.demands, self._members = demands, members
        self._supplies = {}
        for supply, demand in demands.items():
            for node in demand.loads:
                self._supplies.setdefault(node, set()).add(supply)
        self._shares = {supply: self._first_shares(supply, demand) for supply, demand in demands.items()}
        self._moved_at_s = {supply: at_s for supply, at_s in self._moved_at_s.items() if supply in demands}
        self.wanted = {key: ma for key, ma in self.wanted.items() if key[0] in self._supplies}
        self._due.update(dict.fromkeys([*self._supplies, *self.entries]))

    def heard(self, node: str, boot_id: str, held: GrantHeld | None, *, online: bool) -> None:
        """A node said what it holds. Without `online` it is the last word of one that is off."""
        before = entry = self.entries.get(node, Entry())
        if online:
            self._note_contact(node, boot_id, held)
            if held is None and entry == Entry():
                entry = replace(entry, known=True)
            entry = replace(entry, heard=True, released=False)
        if held is not None:
            entry = self._held(node, entry, held)
        if entry != before:
            self._put(node, entry)
        if online:
            self._due[node] = None
            if entry.unconfirmed:
                self._pending.setdefault(node)
            else:
                self._pending.pop(node, None)

    def lost(self, node: str) -> None:
        """The node is off. What is reserved for it stays."""
        contact = self.contacts.get(node)
        if contact is not None:
            contact.online = False

    def release(self, node: str) -> None:
        """A person says that the board is off for good: nothing is reserved for it any more."""
        self._put(node, self.entries.get(node, Entry()).release())
        self._pending.pop(node, None)

    def step(self, now_s: float, shows_in_force: Callable[[str], bool], most: int) -> Step:
        """What is to be saved and then published: at most `most` new grants. Changes nothing before `accept`."""
        for supply, demand in self.demands.items():
            if demand.by_need and not self.doubted and now_s >= self._moved_at_s.get(supply, 0.0) + MOVE_EVERY_S:
                self._move(supply, demand, now_s)
        proposed: dict[str, Entry] = {}
        for node in list(self._due):
            if len(proposed) >= most:
                break
            entry = self.entries.get(node)
            if entry is None or not entry.heard:
                del self._due[node]
                continue
            contact = self.contacts.get(node, Contact())
            waits = entry.unconfirmed and now_s < contact.issued_at_s + REPEAT_S
            target = self._target(node, entry, contact, shows_in_force)
            granted = self._affordable(node, entry, target, proposed, may_rise=contact.online and not waits)
            must = contact.online and (
                entry.number == 0
                or (not contact.holds and entry.boot_id != contact.boot_id)
                or (not entry.known and not entry.unconfirmed)
            )
            if (granted != entry.granted or must) and entry.number < LARGEST_NUMBER:
                proposed[node] = entry.issued(granted, contact.boot_id)
            elif not waits or granted == target:
                del self._due[node]
        entries = {node: self.entries[node] for node in self._unsaved} | proposed
        return Step(entries, tuple(proposed), self.doubted if self._doubt_unsaved else None)

    def accept(self, step: Step, now_s: float) -> None:
        """`step` has been saved."""
        self._unsaved.clear()
        self._doubt_unsaved = False
        for node in step.issued:
            self._due.pop(node, None)
            self._put(node, step.entries[node], saved=True)
            contact = self.contacts.setdefault(node, Contact())
            contact.issued_at_s, contact.repeat_at_s, contact.repeat_wait_s = now_s, now_s + REPEAT_S, REPEAT_S
            self._pending[node] = None

    def repeats(self, now_s: float, most: int) -> list[str]:
        """Nodes that are on, have not confirmed, and are due to be told once more; each ever more seldom."""
        due: list[str] = []
        for node in list(self._pending):
            contact = self.contacts.get(node)
            if contact is None or not contact.online or now_s < contact.repeat_at_s or len(due) >= most:
                continue
            contact.repeat_at_s = now_s + contact.repeat_wait_s
            contact.repeat_wait_s = min(REPEAT_GROWTH * contact.repeat_wait_s, LONGEST_REPEAT_S)
            due.append(node)
        return due

    def share_ma(self, supply: str, node: str) -> int:
        """What the node is to have once all have confirmed."""
        return self._shares.get(supply, {}).get(node, 0)

    def nodes_on(self, supply: str) -> list[str]:
        """Nodes that load the supply, and those that something of it is still reserved for."""
        return sorted(self._on(supply))

    def committed_ma(self, supply: str, node: str, entry: Entry | None = None) -> int:
        """The most that the node may draw of the supply now: what is reserved for it, and dark pixels in any case."""
        entry = entry or self.entries.get(node)
        demand = self.demands.get(supply)
        load = demand.loads.get(node) if demand else None
        reserved = entry.reserved.get(supply, 0) if entry else 0
        return max(reserved, -(-load.idle_ua // 1_000) if load else 0)

    def _note_contact(self, node: str, boot_id: str, held: GrantHeld | None) -> None:
        contact = self.contacts.setdefault(node, Contact())
        if not contact.online or contact.boot_id != boot_id:
            contact.repeat_at_s, contact.repeat_wait_s = float("-inf"), REPEAT_S
        contact.online, contact.boot_id, contact.holds = True, boot_id, held is not None

    def _held(self, node: str, entry: Entry, held: GrantHeld) -> Entry:
        amounts = amounts_held(held)
        if held.number == entry.number and amounts == entry.granted:
            return entry.confirm() if held.on_wires else entry
        if held.number < entry.number:
            # Usually on its way to the newest. Where it had confirmed a later one, older state was put back on it.
            reserved = highest(entry.reserved, amounts)
            return replace(entry, reserved=reserved, confirmed=min(entry.confirmed, held.number))
        reserved = highest(entry.reserved, amounts)
        if held.number > entry.number + LARGEST_NUMBER_JUMP or held.number > LARGEST_NUMBER - 2 * NUMBERS_SKIPPED:
            log.warning("node %s claims grant %d, which nobody can have given it", node, held.number)
            return replace(entry, reserved=reserved)
        log.warning("node %s holds grant %d, which this hub never gave: shares are in doubt", node, held.number)
        if not self.doubted:
            self._doubt()
        number = held.number + NUMBERS_SKIPPED - 1
        return replace(entry, number=number, confirmed=number, granted=amounts, reserved=reserved, known=False)

    def _doubt(self) -> None:
        self.doubted = self._doubt_unsaved = True
        self._shares = {supply: self._fixed(demand) for supply, demand in self.demands.items()}
        for node, entry in list(self.entries.items()):
            if not entry.released:
                self._put(node, replace(entry, known=False))

    def _still_doubted(self) -> bool:
        return any(not self.entries.get(node, Entry()).known for node in {*self._members, *self.entries})

    def _put(self, node: str, entry: Entry, *, saved: bool = False) -> None:
        """Replace an entry; everyone on its supplies may now have more or less room."""
        before = self.entries.get(node, Entry())
        self.entries[node] = entry
        self._index(node, before, entry)
        if not saved:
            self._unsaved[node] = None
        supplies = {*self._supplies.get(node, ()), *before.reserved, *entry.reserved}
        for supply in supplies:
            self._due.update(dict.fromkeys(self._on(supply)))
        if self.doubted and entry.known and not self._still_doubted():
            log.warning("every node has confirmed: shares are no longer in doubt")
            self.doubted = False
            self._doubt_unsaved = True
            self._due.update(dict.fromkeys(self.entries))

    def _index(self, node: str, before: Entry, entry: Entry) -> None:
        for supply in before.reserved:
            self._holders[supply].discard(node)
        for supply in entry.reserved:
            self._holders.setdefault(supply, set()).add(node)

    def _on(self, supply: str) -> set[str]:
        demand = self.demands.get(supply)
        return {*(demand.loads if demand else ()), *self._holders.get(supply, ())}

    def _fixed(self, demand: Demand) -> Mapping[str, int]:
        return fixed_shares_ma(demand.whole_ma, demand.loads)

    def _first_shares(self, supply: str, demand: Demand) -> Mapping[str, int]:
        fixed = self._fixed(demand)
        if not demand.by_need or self.doubted:
            return fixed
        shares = {node: self.entries.get(node, Entry()).granted.get(supply, share) for node, share in fixed.items()}
        if sum(shares.values()) > demand.whole_ma:
            shares = {node: min(share, fixed[node]) for node, share in shares.items()}
        return shares

    def _move(self, supply: str, demand: Demand, now_s: float) -> None:
        """Share by need anew, once everybody has confirmed what was moved last."""
        fixed = self._fixed(demand)
        claims: dict[str, Claim] = {}
        for node, load in demand.loads.items():
            entry, contact = self.entries.get(node, Entry()), self.contacts.get(node, Contact())
            reserved_ma = self.committed_ma(supply, node)
            stuck = entry.unconfirmed and now_s > contact.issued_at_s + STUCK_S
            if entry.released:
                claims[node] = Claim(load, kept_ma=reserved_ma)
            elif not entry.heard:
                claims[node] = Claim(load, kept_ma=max(reserved_ma, fixed[node]))
            elif not contact.online or stuck:
                claims[node] = Claim(load, kept_ma=reserved_ma)
            elif entry.unconfirmed or entry.number == 0:
                return
            else:
                claims[node] = Claim(load, entry.granted.get(supply, 0), self.wanted.get((node, supply)))
        outside_ma = sum(
            self.committed_ma(supply, node) for node in self._holders.get(supply, ()) if node not in demand.loads
        )
        shares = share_by_need(max(0, demand.whole_ma - outside_ma), claims)
        self._moved_at_s[supply] = now_s
        if shares != self._shares.get(supply):
            self._shares[supply] = shares
            self._due.update(dict.fromkeys(shares))

    def _target(self, node: str, entry: Entry, contact: Contact, shows_in_force: Callable[[str], bool]) -> Amounts:
        if node not in self._members:
            return {}
        target = {supply: self._shares[supply].get(node, 0) for supply in self._supplies.get(node, ())}
        left = entry.granted.keys() - target.keys()
        # What it shows may still need a supply that no present revision names.
        if left and not (contact.online and shows_in_force(node)):
            target |= {supply: entry.granted[supply] for supply in left}
        kept = sorted(target)[:MAX_SUPPLIES_PER_GRANT]
        return {supply: target[supply] for supply in kept if target[supply] > 0}

    def _affordable(
        self, node: str, entry: Entry, target: Amounts, proposed: Mapping[str, Entry], *, may_rise: bool
    ) -> dict[str, int]:
        """The target, or as much of each raise as the supply can spare now."""
        granted: dict[str, int] = {}
        for supply in target.keys() | entry.granted.keys():
            present, wanted = entry.granted.get(supply, 0), target.get(supply, 0)
            amount = min(present, wanted)
            if wanted > present:
                amount = present
                if may_rise and not self._blocked(supply):
                    possible = min(wanted, self._room_ma(supply, node, proposed))
                    if possible == wanted or possible >= present + LEAST_RAISE_MA:
                        amount = possible
            if amount > 0:
                granted[supply] = amount
        return granted

    def _room_ma(self, supply: str, node: str, proposed: Mapping[str, Entry]) -> int:
        """The most that the node may be granted with all that the others may be under."""
        demand = self.demands.get(supply)
        if demand is None:
            return 0
        others = (other for other in self._on(supply) if other != node)
        return demand.whole_ma - sum(self.committed_ma(supply, other, proposed.get(other)) for other in others)

    def _blocked(self, supply: str) -> bool:
        """In doubt, while anyone on the supply may hold what is not known."""
        if not self.doubted:
            return False
        return any(not self.entries.get(node, Entry()).known for node in self._on(supply))

"""Budgets of every venue at work: a listener of the fleet loop around the ledgers, and what people ask of them."""

import logging
import threading
from collections import deque
from collections.abc import Callable
from typing import Final, Protocol

from sqlalchemy import Engine

from hub.budgets.demands import Loads, demands_of, loads_of, members_of
from hub.budgets.entry import budgets_of
from hub.budgets.ledger import Ledger
from hub.budgets.store import BudgetStore
from hub.budgets.view import SupplyBudget, views_of
from hub.errors import ConflictError, NotFoundError
from hub.fleet.loop import FleetLoop
from hub.fleet.state import NodeState
from hub.rollout import Prepared
from schemas import Grant, Held, Leaf, Venue, node_topic

ISSUED_PER_TICK: Final = 50
REPEATED_PER_TICK: Final = 25
WANTED_OVER: Final = 3
"""Telemetry messages of which the highest counts as wanted: a wave that passes must not move shares with it."""

LEAVE_WITHIN_S: Final = 60.0
"""A node that was taken out of the venue is heard so long, to go dark and give its shares back; then it is cut off."""

_TELEMETRY = Leaf.TELEMETRY  # a member of an enumeration is looked up slowly in Python 3.11

log = logging.getLogger(__name__)


class Rollouts(Protocol):
    """What the budgets need of the rollout service; on the loop's thread."""

    def at_work(self, venue: str) -> list[Prepared]:
        """Everything that nodes show, or are about to."""
        ...

    def wanted(self, venue: str, node: str) -> Held | None:
        """What a node is to show."""
        ...


class _VenueBudgets:
    """One venue's ledger and what its demands were last made of."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self.present: Loads | None = None
        self.snapshots: list[Loads] = []
        self.lately: dict[tuple[str, str], deque[int]] = {}
        self.leave_by_s: dict[str, float] = {}

    def note_wanted(self, node: NodeState) -> None:
        """What the node's telemetry says that its scene asks for, of supplies that are shared by need."""
        if node.telemetry is None:
            return
        for told in node.telemetry.supplies:
            demand = self.ledger.demands.get(told.supply)
            if demand is not None and demand.by_need:
                lately = self.lately.setdefault((node.node, told.supply), deque(maxlen=WANTED_OVER))
                lately.append(round(told.wanted_a * 1_000))
                self.ledger.wanted[node.node, told.supply] = max(lately)


class BudgetService:
    """A fleet listener. It takes up what was granted when it is first told of a venue, before anybody is heard."""

    def __init__(self, engine: Engine, loop: FleetLoop, rollouts: Rollouts) -> None:
        self._store = BudgetStore(engine)
        self._loop = loop
        self._rollouts = rollouts
        self._venues: dict[str, _VenueBudgets] = {}
        self._left: Callable[[str], None] = lambda _venue: None

    def on_left(self, call: Callable[[str], None]) -> None:
        """`call(venue)`, on a thread of its own, once a node that was leaving is done, or its time is over."""
        self._left = call

    def leaving(self, venue: Venue) -> set[str]:
        """Nodes that the venue has no longer, are connected, and have shares to give back; from any thread."""
        leaving: set[str] = set()
        present = {node.id for node in venue.nodes}

        def work(now_s: float) -> None:
            budgets = self._of(venue.id)
            for state in self._loop.state.of_venue(venue.id):
                entry = budgets.ledger.entries.get(state.node)
                gone = state.node not in present and state.online and entry is not None and entry.reserved
                if gone and now_s < budgets.leave_by_s.setdefault(state.node, now_s + LEAVE_WITHIN_S):
                    leaving.add(state.node)
            budgets.leave_by_s = {node: budgets.leave_by_s[node] for node in leaving}

        self._loop.arrange(work)
        return leaving

    def venue_changed(self, venue: Venue) -> None:
        """The inventory holds this now; from any thread."""
        present = loads_of(venue)

        def work(_now_s: float) -> None:
            self._of(venue.id).present = present

        self._loop.arrange(work)

    def node_changed(self, node: NodeState, leaf: Leaf, _now_s: float) -> None:
        budgets = self._venues.get(node.venue)
        if budgets is None:
            return
        if leaf is _TELEMETRY:
            budgets.note_wanted(node)
            return
        ledger, reported = budgets.ledger, node.reported
        contact = ledger.contacts.get(node.node)
        if not node.online:
            ledger.lost(node.node)
        returns = node.online and (contact is None or not contact.online)
        if reported is not None and (leaf is Leaf.REPORTED or returns):
            # A word from before a restart says nothing of the board as it is now; but what it held, it may hold still.
            present = node.online and reported.boot_id == node.boot_id
            ledger.heard(node.node, reported.boot_id, reported.grant, online=present)

    def link_changed(self, connected: bool, now_s: float) -> None:
        pass

    def tick(self, now_s: float) -> None:
        for venue, budgets in self._venues.items():
            self._refresh(venue)
            step = budgets.ledger.step(now_s, self._shows_wanted(venue), ISSUED_PER_TICK)
            if not step.empty:
                self._store.save(venue, step)
                budgets.ledger.accept(step, now_s)
            for node in (*step.issued, *budgets.ledger.repeats(now_s, REPEATED_PER_TICK)):
                self._publish(venue, node, budgets.ledger)
            self._see_off(venue, budgets, now_s)

    def budgets(self, venue: str) -> list[SupplyBudget]:
        """Every supply of the venue, by id, with what its nodes are granted. Raises NotFoundError."""

        def read(now_s: float) -> list[SupplyBudget]:
            budgets = self._known(venue)
            online = {state.node for state in self._loop.state.of_venue(venue) if state.online}
            present = budgets.present.venue if budgets.present else None
            return views_of(budgets.ledger, present, online, now_s)

        return self._loop.call(read)

    def release(self, venue: str, node: str) -> None:
        """A person's word that the board is off for good, or gone: what is reserved for it may go to others.

        Raises NotFoundError for a node that nothing was ever granted to, ConflictError for one that is connected.
        """

        def work(now_s: float) -> None:
            ledger = self._known(venue).ledger
            state = self._loop.state.nodes.get((venue, node))
            if node not in ledger.entries and state is None:
                raise NotFoundError("node", node)
            if state is not None and state.online:
                raise ConflictError(
                    f"{node} is connected, so its share is in use; switch its board off first, or take the node out of "
                    "the venue"
                )
            ledger.release(node)
            step = ledger.step(now_s, self._shows_wanted(venue), 0)
            self._store.save(venue, step)
            ledger.accept(step, now_s)
            self._publish(venue, node, ledger)
            log.warning("share released by a person venue=%s node=%s", venue, node)

        self._loop.call(work)

    def _see_off(self, venue: str, budgets: _VenueBudgets, now_s: float) -> None:
        for node, leave_by_s in budgets.leave_by_s.items():
            state, entry = self._loop.state.nodes.get((venue, node)), budgets.ledger.entries.get(node)
            done = state is None or not state.online or entry is None or not entry.reserved
            if leave_by_s > 0 and (done or now_s >= leave_by_s):
                budgets.leave_by_s[node] = 0.0
                threading.Thread(target=self._left, args=(venue,), name="node-left", daemon=True).start()

    def _of(self, venue: str) -> _VenueBudgets:
        if venue not in self._venues:
            self._venues[venue] = _VenueBudgets(self._store.ledger(venue))
        return self._venues[venue]

    def _known(self, venue: str) -> _VenueBudgets:
        if venue not in self._venues:
            raise NotFoundError("venue", venue)
        return self._venues[venue]

    def _refresh(self, venue: str) -> None:
        """The demands anew, where inventory, or what nodes show or are about to, is another than before."""
        budgets = self._venues[venue]
        wanted = [budgets.present.venue] if budgets.present else []
        wanted += [prepared.venue for prepared in self._rollouts.at_work(venue)]
        unique = list({id(each): each for each in wanted}.values())
        if [id(each) for each in unique] == [id(loads.venue) for loads in budgets.snapshots]:
            return
        known = {id(loads.venue): loads for loads in (*budgets.snapshots, budgets.present) if loads}
        budgets.snapshots = [known.get(id(each)) or loads_of(each) for each in unique]
        budgets.ledger.set_demands(demands_of(budgets.snapshots), members_of(budgets.snapshots))

    def _shows_wanted(self, venue: str) -> Callable[[str], bool]:
        def shows(node: str) -> bool:
            wanted, state = self._rollouts.wanted(venue, node), self._loop.state.nodes.get((venue, node))
            if wanted is None or state is None or state.reported is None:
                return False
            return state.reported.showing == wanted

        return shows

    def _publish(self, venue: str, node: str, ledger: Ledger) -> None:
        entry = ledger.entries[node]
        grant = Grant(
            venue=venue,
            node=node,
            number=entry.number,
            boot_id=entry.boot_id,
            supplies=budgets_of(entry.granted),
        )
        self._loop.publish(node_topic(venue, node, Leaf.GRANT), grant.model_dump_json().encode(), retain=True)

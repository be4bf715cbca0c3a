"""What the rules are asked about, and when: what changed, what time alone can make a fault, what is pending.

Of a subject that is not pending only a fault is told, so nothing is asked about a fleet that says nothing new.
"""

from collections.abc import Callable, Collection, Iterator, Mapping

from hub.fleet.lifeline import silent_after_s
from hub.fleet.state import NodeState
from hub.health.kinds import FindingKind
from hub.health.rule import GONE, UNKNOWN, Fault, Outcome, Subject
from hub.health.rules.book import NODE_JUDGEMENTS, SUPPLY_JUDGEMENTS
from hub.health.sight import Drawing, NodeSight, SupplySight
from schemas import Leaf, Venue

Key = tuple[str, str]


class Watch:
    """`judge` is called every half second or so; the rest marks what it has to look at. One thread's."""

    def __init__(self, telemetry_interval_s: float, desired_revision: Callable[[str, str], int | None]) -> None:
        self._telemetry_interval_s = telemetry_interval_s
        self._desired_revision = desired_revision
        self._link_up_at_s: float | None = None
        self._sights: dict[Key, NodeSight] = {}
        self._changed: dict[Key, None] = {}
        self._in_grace: dict[Key, None] = {}
        self._all_anew = True
        self._budgets_a: dict[str, Mapping[str, float]] = {}
        self._drawers: dict[Key, dict[Key, None]] = {}
        self._faulty: set[Subject] = set()

    def node_changed(self, node: NodeState, _leaf: Leaf, _now_s: float) -> None:
        self._changed[node.key] = None

    def link_changed(self, connected: bool, now_s: float) -> None:
        self._link_up_at_s = now_s if connected else None
        self._all_anew = True

    def venue_changed(self, venue: Venue) -> None:
        self._budgets_a[venue.id] = {supply.id: supply.budget_a for supply in venue.supplies}
        self._all_anew = True

    def begin_anew(self, now_s: float) -> None:
        """Time leapt: whoever was not heard has the grace of a new link."""
        if self._link_up_at_s is not None:
            self._link_up_at_s = now_s
        self._all_anew = True

    def judge(
        self,
        nodes: Mapping[Key, NodeState],
        now_s: float,
        pending: Collection[Subject],
        is_open: Callable[[Subject], bool],
    ) -> Iterator[tuple[Subject, Outcome]]:
        """Outcomes of all `pending` subjects and of all that were faulty at the last call, and new faults of others.

        A fault is told at every call while it lasts, so that one that could not be stored is not lost.
        """
        self._take_in_roster(nodes, now_s)
        changed, self._changed = self._changed, {}
        held = self._faulty.union(pending)
        self._faulty = set()
        for subject, outcome in self._outcomes(changed, held, now_s, is_open):
            if isinstance(outcome, Fault):
                self._faulty.add(subject)
            yield subject, outcome

    def _outcomes(
        self, changed: Collection[Key], held: Collection[Subject], now_s: float, is_open: Callable[[Subject], bool]
    ) -> Iterator[tuple[Subject, Outcome]]:
        supplies: dict[Key, None] = {}
        for key in changed:
            sight = self._sights.get(key)
            if sight is not None:
                self._note_supplies(sight, supplies)
                yield from self._faults(sight, now_s, held)
        yield from self._ends_of_grace(changed, now_s, held)
        for venue, supply in supplies:
            for kind, judgement in SUPPLY_JUDGEMENTS.items():
                sight_of = self._supply_sight(venue, supply, now_s)
                if sight_of is not None and isinstance(fault := judgement(sight_of, open_now=False), Fault):
                    subject = Subject(venue, kind, supply)
                    if subject not in held:
                        yield subject, fault
        for subject in held:
            yield subject, self._outcome(subject, now_s, open_now=is_open(subject))

    def _take_in_roster(self, nodes: Mapping[Key, NodeState], now_s: float) -> None:
        if not self._all_anew and nodes.keys() == self._sights.keys():
            return
        for key in self._sights.keys() - nodes.keys():
            del self._sights[key]
            for drawers in self._drawers.values():
                drawers.pop(key, None)
        for key, node in nodes.items():
            sight = self._sights.get(key)
            if sight is None or sight.node is not node:
                self._sights[key] = NodeSight(node, now_s, now_s, self._link_up_at_s, self._desired_revision)
                self._changed[key] = None
        if self._all_anew:
            self._changed.update(dict.fromkeys(nodes))
        self._all_anew = False

    def _faults(self, sight: NodeSight, now_s: float, held: Collection[Subject]) -> Iterator[tuple[Subject, Outcome]]:
        sight.look(now_s, self._link_up_at_s)
        node = sight.node
        for kind, judgement in NODE_JUDGEMENTS.items():
            outcome = judgement(sight, open_now=False)
            if isinstance(outcome, Fault):
                subject = Subject(node.venue, kind, node.node)
                if subject not in held:
                    yield subject, outcome
            elif outcome is UNKNOWN and kind is FindingKind.SILENT and self._link_up_at_s is not None:
                self._in_grace[node.key] = None

    def _ends_of_grace(
        self, changed: Collection[Key], now_s: float, held: Collection[Subject]
    ) -> Iterator[tuple[Subject, Outcome]]:
        """Those whose silence says nothing yet: only time makes a fault of it."""
        silent = NODE_JUDGEMENTS[FindingKind.SILENT]
        for key in [key for key in self._in_grace if key not in changed]:
            sight = self._sights.get(key)
            if sight is None:
                del self._in_grace[key]
                continue
            sight.look(now_s, self._link_up_at_s)
            outcome = silent(sight, open_now=False)
            if outcome is not UNKNOWN:
                del self._in_grace[key]
            if isinstance(outcome, Fault):
                subject = Subject(key[0], FindingKind.SILENT, key[1])
                if subject not in held:
                    yield subject, outcome

    def _outcome(self, subject: Subject, now_s: float, *, open_now: bool) -> Outcome:
        if subject.kind in SUPPLY_JUDGEMENTS:
            sight_of = self._supply_sight(subject.venue, subject.name, now_s)
            return GONE if sight_of is None else SUPPLY_JUDGEMENTS[subject.kind](sight_of, open_now=open_now)
        sight = self._sights.get((subject.venue, subject.name))
        if sight is None or subject.kind not in NODE_JUDGEMENTS:
            return GONE
        sight.look(now_s, self._link_up_at_s)
        return NODE_JUDGEMENTS[subject.kind](sight, open_now=open_now)

    def _note_supplies(self, sight: NodeSight, supplies: dict[Key, None]) -> None:
        node = sight.node
        if node.telemetry is None:
            return
        for told in node.telemetry.supplies:
            key = (node.venue, told.supply)
            self._drawers.setdefault(key, {})[node.key] = None
            supplies[key] = None

    def _supply_sight(self, venue: str, supply: str, now_s: float) -> SupplySight | None:
        budget_a = self._budgets_a.get(venue, {}).get(supply)
        if budget_a is None:
            return None
        drawing: list[Drawing] = []
        fresh = True
        for key in self._drawers.get((venue, supply), ()):
            node = self._sights[key].node
            if node.telemetry is None or node.telemetry_at_s is None:
                continue
            heard = node.online and now_s - node.telemetry_at_s <= silent_after_s(node, self._telemetry_interval_s)
            fresh = fresh and heard
            drawing.extend(
                Drawing(node.node, told.amps, told.limiter_scale, _granted_a(node, supply))
                for told in node.telemetry.supplies
                if heard and told.supply == supply
            )
        return SupplySight(budget_a, drawing, fresh)


def _granted_a(node: NodeState, supply: str) -> float | None:
    """What the node itself says that it may draw."""
    if node.reported is None or node.reported.grant is None:
        return None
    return next((one.budget_a for one in node.reported.grant.supplies if one.supply == supply), 0.0)

"""What the rules are asked about, and when: what changed, what time alone can make a fault, what is pending.

Of a subject that is not pending only a fault is told, so nothing is asked about a fleet that says nothing new.
"""

from collections import deque
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from heapq import nsmallest
from typing import Final, TypeVar

from hub.fleet.state import FleetState, NodeState
from hub.health.kinds import FindingKind
from hub.health.rise import Rise
from hub.health.rule import GONE, UNKNOWN, About, Fault, Outcome, Subject
from hub.health.rules.book import OF_NODES, OF_STRANGERS, OF_SUPPLIES, OF_VENUES, RULES, Judgement
from hub.health.rules.unknown_node import HEARD_WITHIN_S
from hub.health.sight import DROPPED_OF_S, LinkSight, NodeSight, StrangerSight, VenueSight
from hub.health.supplies import Supplies
from schemas import Leaf, Venue

Key = tuple[str, str]
SightT = TypeVar("SightT")

MAX_STRANGERS: Final = 20
"""How many unknown nodes are told of, those first that were heard first: somebody may make up names."""
LINK_UPS: Final = 8

# A member of an enumeration is looked up slowly in Python 3.11.
_PRESENCE: Final = Leaf.PRESENCE
_SILENT: Final = OF_NODES[FindingKind.SILENT]


class Watch:
    """`judge` is called every half second or so; the rest marks what it has to look at. One thread's."""

    def __init__(self, telemetry_interval_s: float, desired_revision: Callable[[str, str], int | None]) -> None:
        self._desired_revision = desired_revision
        self._supplies = Supplies(telemetry_interval_s)
        self._link_ups_s: deque[float] = deque(maxlen=LINK_UPS)
        self._link = LinkSight(ups_s=self._link_ups_s)
        self._sights: dict[Key, NodeSight] = {}
        self._changed: dict[Key, None] = {}
        self._venues_changed: set[str] = set()
        self._in_grace: dict[Key, None] = {}
        self._dropped = Rise(DROPPED_OF_S)
        self._all_anew = True
        self._faulty: set[Subject] = set()

    def node_changed(self, node: NodeState, leaf: Leaf, _now_s: float) -> None:
        """Of presence, reported and telemetry: what is not told here is not looked at."""
        self._changed[node.key] = None
        if leaf is _PRESENCE:
            self._venues_changed.add(node.venue)

    def link_changed(self, connected: bool, now_s: float) -> None:
        self._link.up_at_s = now_s if connected else None
        if connected:
            self._link_ups_s.append(now_s)
        self._all_anew = True

    def venue_changed(self, venue: Venue) -> None:
        self._supplies.venue_changed(venue)
        self._all_anew = True

    def begin_anew(self, now_s: float) -> None:
        """Time leapt: whoever was not heard has the grace of a new link."""
        if self._link.up_at_s is not None:
            self.link_changed(True, now_s)

    def judge(
        self, fleet: FleetState, now_s: float, pending: Collection[Subject], is_open: Callable[[Subject], bool]
    ) -> Iterator[tuple[Subject, Outcome]]:
        """Outcomes of all `pending` subjects and of all that were faulty at the last call, and new faults of others.

        A fault is told at every call while it lasts, so that one that could not be stored is not lost.
        """
        self._take_in_roster(fleet, now_s)
        self._note_dropped(fleet, now_s)
        held = self._faulty.union(pending)
        self._faulty = set()
        for subject in held:
            outcome = self._outcome(subject, fleet, now_s, open_now=is_open(subject))
            if isinstance(outcome, Fault):
                self._faulty.add(subject)
            yield subject, outcome
        for subject, fault in self._new_faults(fleet, now_s):
            if subject not in held:
                self._faulty.add(subject)
                yield subject, fault

    def _take_in_roster(self, fleet: FleetState, now_s: float) -> None:
        nodes = fleet.nodes
        if not self._all_anew and nodes.keys() == self._sights.keys():
            return
        for key in self._sights.keys() - nodes.keys():
            del self._sights[key]
            self._supplies.forget(key)
        for key, node in nodes.items():
            sight = self._sights.get(key)
            if sight is None or sight.node is not node:
                self._sights[key] = NodeSight(node, now_s, now_s, self._link, self._desired_revision)
                self._changed[key] = None
        if self._all_anew:
            self._changed.update(dict.fromkeys(nodes))
            self._venues_changed.update(venue for venue, _name in nodes)
        self._all_anew = False

    def _note_dropped(self, fleet: FleetState, now_s: float) -> None:
        before = self._dropped.lately
        self._dropped.note(now_s, fleet.dropped)
        if self._dropped.lately > before:
            self._venues_changed.update(venue for venue, _name in fleet.nodes)

    def _new_faults(self, fleet: FleetState, now_s: float) -> Iterator[tuple[Subject, Fault]]:
        changed, self._changed = self._changed, {}
        supplies: dict[Key, None] = {}
        for key in changed:
            if (sight := self._sights.get(key)) is not None:
                supplies.update(self._supplies.note(sight.node))
                sight.look(now_s)
                yield from _faults(OF_NODES, key, sight)
                if self._link.up_at_s is not None and _SILENT(sight, open_now=False) is UNKNOWN:
                    self._in_grace[key] = None
        yield from self._ends_of_grace(changed, now_s)
        for key in supplies:
            if (sight_of := self._supplies.sight(key, fleet.nodes, now_s)) is not None:
                yield from _faults(OF_SUPPLIES, key, sight_of)
        for key in self._strangers(fleet, now_s):
            yield from _faults(OF_STRANGERS, key, StrangerSight(key[1], fleet.strangers.get(key), now_s, self._link))
        venues, self._venues_changed = self._venues_changed, set()
        for venue in venues:
            yield from _faults(OF_VENUES, (venue, venue), VenueSight(fleet.of_venue(venue), self._dropped.lately))

    def _ends_of_grace(self, judged: Collection[Key], now_s: float) -> Iterator[tuple[Subject, Fault]]:
        """Those whose silence says nothing yet: time alone makes a fault of it."""
        for key in [key for key in self._in_grace if key not in judged]:
            sight = self._sights.get(key)
            if sight is not None:
                sight.look(now_s)
                outcome = _SILENT(sight, open_now=False)
                if outcome is UNKNOWN and self._link.up_at_s is not None:
                    continue
                if isinstance(outcome, Fault):
                    yield Subject(key[0], FindingKind.SILENT, key[1]), outcome
            del self._in_grace[key]

    @staticmethod
    def _strangers(fleet: FleetState, now_s: float) -> Iterable[Key]:
        if not fleet.strangers:
            return ()
        lately = ((key, one) for key, one in fleet.strangers.items() if now_s - one.heard_at_s <= HEARD_WITHIN_S)
        return [key for key, _one in nsmallest(MAX_STRANGERS, lately, key=lambda one: one[1].first_heard_at_s)]

    def _outcome(self, subject: Subject, fleet: FleetState, now_s: float, *, open_now: bool) -> Outcome:
        kind, key = subject.kind, (subject.venue, subject.name)
        about = RULES[kind].about
        if about is About.SUPPLY:
            sight_of = self._supplies.sight(key, fleet.nodes, now_s)
            return GONE if sight_of is None else OF_SUPPLIES[kind](sight_of, open_now=open_now)
        if about is About.VENUE:
            nodes = fleet.of_venue(subject.venue)
            return OF_VENUES[kind](VenueSight(nodes, self._dropped.lately), open_now=open_now) if nodes else GONE
        if about is About.STRANGER:
            if key in fleet.nodes:
                return GONE
            stranger = StrangerSight(subject.name, fleet.strangers.get(key), now_s, self._link)
            return OF_STRANGERS[kind](stranger, open_now=open_now)
        sight = self._sights.get(key)
        if sight is None:
            return GONE
        sight.look(now_s)
        return OF_NODES[kind](sight, open_now=open_now)


def _faults(
    judgements: Mapping[FindingKind, Judgement[SightT]], key: Key, sight: SightT
) -> list[tuple[Subject, Fault]]:
    outcomes = [(kind, judgement(sight, open_now=False)) for kind, judgement in judgements.items()]
    return [(Subject(key[0], kind, key[1]), outcome) for kind, outcome in outcomes if isinstance(outcome, Fault)]

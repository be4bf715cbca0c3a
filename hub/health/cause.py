"""Root cause: faults of one kind that have one thing in common are one fault of that thing. Pure.

A cause holds while every node that shares it and can be judged has the fault, at least two of them, begun within a
minute of each other. It is disproved once a node that shares it has been well for a minute while others are not: the
same minute in which boards that get their power back may start again.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from hub.health.kinds import CauseKind
from schemas import Node, Venue

SHARED_WITHIN_S: Final = 60.0
DISPROVED_AFTER_S: Final = 60.0
LEAST_NODES: Final = 2
LEAST_NODES_OF_A_VENUE: Final = 3
# How many nodes that nobody asked about yet a cause has asked at a time: one that is well is enough against it.
ASKED_AT_ONCE: Final = 8


@dataclass(frozen=True, slots=True)
class Cause:
    """Something that nodes share."""

    kind: CauseKind
    name: str


class Shares:
    """Which nodes of a venue share what; and by node, what it shares."""

    def __init__(self, nodes_of: Mapping[Cause, Collection[str]]) -> None:
        self.nodes_of = {cause: frozenset(nodes) for cause, nodes in nodes_of.items() if len(nodes) >= LEAST_NODES}
        self._causes_of: dict[str, list[Cause]] = defaultdict(list)
        for cause, nodes in self.nodes_of.items():
            for node in nodes:
                self._causes_of[node].append(cause)

    def causes_of(self, nodes: Iterable[str]) -> set[Cause]:
        return {cause for node in nodes for cause in self._causes_of.get(node, ())}


NOTHING_SHARED: Final = Shares({})


def shares_of(venue: Venue) -> Shares:
    """By supplies that feed boards, network switches, zones with the zones that they join, and the venue itself."""
    nodes_of: dict[Cause, set[str]] = defaultdict(set)
    for node in venue.nodes:
        nodes_of[Cause(CauseKind.VENUE, venue.id)].add(node.id)
        if node.network_switch is not None:
            nodes_of[Cause(CauseKind.SWITCH, node.network_switch)].add(node.id)
        supply = supply_of_board(node)
        if supply is not None:
            nodes_of[Cause(CauseKind.SUPPLY, supply)].add(node.id)
    for zone, nodes in nodes_by_zone(venue).items():
        nodes_of[Cause(CauseKind.ZONE, zone)] |= nodes
    return Shares(nodes_of)


def supply_of_board(node: Node) -> str | None:
    """The supply that the board itself hangs on: the one named, else the one that alone feeds its runs."""
    if node.powered_by is not None:
        return node.powered_by
    feeding = {feed.supply for channel in node.channels for feed in channel.run.feeds}
    return feeding.pop() if len(feeding) == 1 else None


def nodes_by_zone(venue: Venue) -> dict[str, frozenset[str]]:
    """The nodes with pixels in each zone, or in one of the zones that it joins."""
    zones = {zone.id: zone for zone in venue.zones}
    found: dict[str, frozenset[str]] = {}
    for zone in venue.zones:
        nodes: set[str] = set()
        seen: set[str] = set()
        to_see = [zone.id]
        while to_see:
            name = to_see.pop()
            if name in zones and name not in seen:
                seen.add(name)
                nodes.update(span.node for span in zones[name].spans)
                to_see.extend(zones[name].of)
        found[zone.id] = frozenset(nodes)
    return found


class Standing(Enum):
    """How a node without an open finding stands: well; perhaps bad soon, or soon to be known; or nobody can tell."""

    WELL = "well"
    OPEN = "open"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Trouble:
    """A node's fault that is told. `well`: nothing is wrong any more, though it has not ended yet."""

    began_s: float
    well: bool = False


@dataclass(frozen=True, slots=True)
class Fold:
    """A cause that stands for its nodes, those that became well meanwhile too. `also`: what has just these nodes."""

    cause: Cause
    nodes: frozenset[str]
    also: tuple[Cause, ...] = ()
    doubted_since_s: float | None = None


@dataclass(frozen=True, slots=True)
class Faults:
    """The faults of one kind in a venue. `standing(node)` is None where it was not asked about yet."""

    troubles: Mapping[str, Trouble]
    standing: Callable[[str], Standing | None]

    @property
    def bad(self) -> set[str]:
        return {node for node, trouble in self.troubles.items() if not trouble.well}


@dataclass(frozen=True, slots=True)
class Folding:
    """What stands for what, no node under two; and which nodes must be asked about before more can be said."""

    folds: tuple[Fold, ...]
    ask: frozenset[str]


@dataclass(slots=True)
class _Option:
    fold: Fold
    nodes: set[str]  # open now, and not under another
    size: int
    rank: tuple[int, int, str]


def fold_faults(
    shares: Shares,
    kinds: Sequence[CauseKind],
    faults: Faults,
    held: Iterable[Fold],
    now_s: float,
    *,
    fresh_s: float,
) -> Folding:
    """What the faults come from, after `held` at the last look. `kinds`: what may be a cause, likeliest first.

    The cause of most faults wins, one that stands already before a new one, then the likeliest. Only where a fault
    began in the last `fresh_s` is a new cause looked for: what was told one by one stays so.
    """
    held = tuple(held)
    ask: set[str] = set()
    bad = faults.bad
    options = [*_still_held(shares, held, faults, bad, now_s, ask)]
    options += _new(shares, kinds, held, faults, bad, now_s - fresh_s, ask)
    options.sort(key=lambda option: (-option.size, option.rank))
    taken: set[str] = set()
    folds: list[Fold] = []
    for option in options:
        nodes = option.nodes - taken
        is_new = option.rank[0] == 1
        if not nodes or (is_new and len(nodes) < _least(option.fold.cause)):
            continue
        taken |= nodes
        fold = option.fold
        if is_new:
            also = (
                other.fold.cause
                for other in options
                if other is not option and other.rank[0] == 1 and other.nodes == nodes
            )
            fold = replace(fold, nodes=frozenset(nodes), also=tuple(also))
        else:
            fold = replace(fold, nodes=fold.nodes - (option.nodes - nodes))
        folds.append(fold)
    return Folding(tuple(folds), frozenset(ask))


def _still_held(
    shares: Shares, held: Sequence[Fold], faults: Faults, bad: Set[str], now_s: float, ask: set[str]
) -> Iterator[_Option]:
    under_one = frozenset().union(*(fold.nodes for fold in held)) if held else frozenset()
    for fold in held:
        cover = shares.nodes_of.get(fold.cause, frozenset())
        open_now = fold.nodes & cover & faults.troubles.keys()
        if not open_now:
            continue
        began = [faults.troubles[node].began_s for node in open_now]
        joining = {
            node
            for node in (cover & bad) - under_one
            if min(began) - SHARED_WITHIN_S <= faults.troubles[node].began_s <= max(began) + SHARED_WITHIN_S
        }
        doubted = not bad.isdisjoint(open_now) and _verdict(cover, faults, ask) is Standing.WELL
        since_s = None
        if doubted:
            since_s = now_s if fold.doubted_since_s is None else fold.doubted_since_s
            if now_s - since_s >= DISPROVED_AFTER_S:
                continue
        nodes = frozenset((fold.nodes & cover) | joining)
        yield _Option(
            replace(fold, nodes=nodes, doubted_since_s=since_s),
            set(open_now | joining),
            len((open_now & bad) | joining),
            (0, 0, fold.cause.name),
        )


def _new(
    shares: Shares,
    kinds: Sequence[CauseKind],
    held: Sequence[Fold],
    faults: Faults,
    bad: Set[str],
    since_s: float,
    ask: set[str],
) -> Iterator[_Option]:
    fresh = [node for node in bad if faults.troubles[node].began_s >= since_s]
    standing = {fold.cause for fold in held}
    for cause in shares.causes_of(fresh) - standing:
        if cause.kind not in kinds:
            continue
        cover = shares.nodes_of[cause]
        here = cover & bad
        latest_s = max(faults.troubles[node].began_s for node in here)
        together = {node for node in here if faults.troubles[node].began_s >= latest_s - SHARED_WITHIN_S}
        if len(together) >= _least(cause) and _verdict(cover, faults, ask) is Standing.UNKNOWN:
            yield _Option(
                Fold(cause, frozenset(together)), together, len(together), (1, kinds.index(cause.kind), cause.name)
            )


def _verdict(cover: Set[str], faults: Faults, ask: set[str]) -> Standing:
    """WELL if one node of the cover is; else OPEN while one may turn out either way; else nobody speaks against it."""
    others: list[str] = []
    for node in cover:
        trouble = faults.troubles.get(node)
        if trouble is None:
            others.append(node)
        elif trouble.well:
            return Standing.WELL
    verdict = Standing.UNKNOWN
    asked: list[str] = []
    unasked: list[str] = []
    for node in sorted(others):
        standing = faults.standing(node)
        if standing is Standing.WELL:
            ask.update(asked, (node,))
            return standing
        if standing is None:
            unasked.append(node)
            if len(unasked) >= max(ASKED_AT_ONCE, len(asked)):
                break
        else:
            asked.append(node)
            if standing is Standing.OPEN:
                verdict = Standing.OPEN
    ask.update(asked, unasked)
    return Standing.OPEN if unasked else verdict


def _least(cause: Cause) -> int:
    return LEAST_NODES_OF_A_VENUE if cause.kind is CauseKind.VENUE else LEAST_NODES

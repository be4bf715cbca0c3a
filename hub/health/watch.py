"""What the rules are asked about: each node's and each supply's outcome at this moment. Pure over the fleet's state."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from hub.fleet.lifeline import silent_after_s
from hub.fleet.state import NodeState
from hub.health.clock_rules import clock_untrusted, clocks_apart, skewed
from hub.health.kinds import FindingKind
from hub.health.rule import GOOD, Outcome, Subject
from hub.health.rules import Drawing, behind, overloaded, silent, slow
from schemas import Telemetry


@dataclass(slots=True)
class Surroundings:
    """What the rules know beside the nodes' state."""

    telemetry_interval_s: float
    desired_revision: Callable[[str, str], int | None]
    budgets_a: dict[str, Mapping[str, float]] = field(default_factory=dict)
    link_up_at_s: float | None = None
    known_since_s: dict[tuple[str, str], float] = field(default_factory=dict)
    telemetry_before: dict[tuple[str, str], Telemetry | None] = field(default_factory=dict)
    telemetry_now: dict[tuple[str, str], Telemetry | None] = field(default_factory=dict)


def node_outcomes(
    nodes: Iterable[NodeState], now_s: float, around: Surroundings, is_open: Callable[[Subject], bool]
) -> Iterator[tuple[Subject, Outcome]]:
    """Silent, slow, behind and what is wrong with its clock, of every node."""
    for node in nodes:
        venue, name = node.venue, node.node
        known_since_s = around.known_since_s.setdefault(node.key, now_s)
        yield (
            Subject(venue, FindingKind.SILENT, name),
            silent(node, now_s, link_up_at_s=around.link_up_at_s, known_since_s=known_since_s),
        )
        subject = Subject(venue, FindingKind.SLOW, name)
        yield subject, slow(node, around.telemetry_before.get(node.key), open_now=is_open(subject))
        yield Subject(venue, FindingKind.BEHIND, name), behind(node, around.desired_revision(venue, name))
        subject = Subject(venue, FindingKind.SKEWED, name)
        yield subject, skewed(node, open_now=is_open(subject))
        yield Subject(venue, FindingKind.CLOCK_UNTRUSTED, name), clock_untrusted(node)
        subject = Subject(venue, FindingKind.CLOCKS_APART, name)
        yield subject, clocks_apart(node, open_now=is_open(subject))


def supply_outcomes(
    nodes: Iterable[NodeState], now_s: float, around: Surroundings, is_open: Callable[[Subject], bool]
) -> Iterator[tuple[Subject, Outcome]]:
    """Overloaded, of every supply that a budget is known for."""
    drawing: dict[tuple[str, str], list[Drawing]] = {}
    stale: set[tuple[str, str]] = set()
    for node in nodes:
        if node.telemetry is None or node.telemetry_at_s is None:
            continue
        fresh = node.online and now_s - node.telemetry_at_s <= silent_after_s(node, around.telemetry_interval_s)
        granted = _granted_a(node)
        for told in node.telemetry.supplies:
            key = (node.venue, told.supply)
            if fresh:
                share_a = None if granted is None else granted.get(told.supply, 0.0)
                drawing.setdefault(key, []).append(Drawing(node, told.amps, told.limiter_scale, share_a))
            else:
                stale.add(key)
    for venue, budgets in around.budgets_a.items():
        for supply, budget_a in budgets.items():
            key = (venue, supply)
            subject = Subject(venue, FindingKind.OVERLOADED, supply)
            if key not in drawing and key not in stale:
                yield subject, GOOD
            else:
                outcome = overloaded(budget_a, drawing.get(key, ()), fresh=key not in stale, open_now=is_open(subject))
                yield subject, outcome


def _granted_a(node: NodeState) -> Mapping[str, float] | None:
    """By supply, what the node itself says that it may draw."""
    if node.reported is None or node.reported.grant is None:
        return None
    return {one.supply: one.budget_a for one in node.reported.grant.supplies}

"""Whether and when a destination is told of a finding: routes over severity, zones and hours. Pure."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from hub.energy.ratings import wired_pairs
from hub.health.cause import nodes_by_zone
from hub.health.kinds import CauseKind, Severity
from hub.health.models import Finding
from hub.notify.destination import Route, Told
from hub.notify.hours import told_at_ms
from schemas import Venue


@dataclass(frozen=True, slots=True)
class VenuePlan:
    """What routing needs of a venue."""

    title: str
    time_zone: ZoneInfo
    zones: frozenset[str]
    zones_of_node: Mapping[str, frozenset[str]]
    nodes_of_supply: Mapping[str, frozenset[str]]


def plan_of(venue: Venue) -> VenuePlan:
    nodes_of_supply: dict[str, set[str]] = {}
    for node, supply in wired_pairs(venue):
        nodes_of_supply.setdefault(supply, set()).add(node)
    nodes_of_zone = nodes_by_zone(venue)
    zones_of_node: dict[str, set[str]] = {}
    for zone, nodes in nodes_of_zone.items():
        for node in nodes:
            zones_of_node.setdefault(node, set()).add(zone)
    return VenuePlan(
        title=venue.title,
        time_zone=ZoneInfo(venue.time_zone),
        zones=frozenset(nodes_of_zone),
        zones_of_node={node: frozenset(zones) for node, zones in zones_of_node.items()},
        nodes_of_supply={supply: frozenset(nodes) for supply, nodes in nodes_of_supply.items()},
    )


def zones_about(finding: Finding, member_nodes: Iterable[str], plan: VenuePlan) -> frozenset[str]:
    """The zones of the nodes that a finding is about; none where it is about no node of a zone."""
    nodes = {finding.node, *member_nodes} - {None}
    if not nodes and finding.supply is not None:
        nodes = {*plan.nodes_of_supply.get(finding.supply, ())}
    named = {finding.cause} if finding.cause_kind is CauseKind.ZONE and finding.cause is not None else set()
    return frozenset(named).union(*(plan.zones_of_node.get(node or "", frozenset()) for node in nodes))


def due_at_ms(
    routes: Iterable[Route], told: Told, severity: Severity, zones: Collection[str], plan: VenuePlan, now_ms: int
) -> int | None:
    """When to tell it, by the route that would tell soonest; None where no route does, or it is left to the digest."""
    times_ms: list[int] = []
    for route in routes:
        if told in route.tells and severity.rank >= route.severity_at_least.rank and _covers(route, zones, plan):
            at_ms = told_at_ms(route.hours, now_ms, plan.time_zone)
            if at_ms == now_ms or route.hours is None or route.hours.outside == "wait":
                times_ms.append(at_ms)
    return min(times_ms, default=None)


def _covers(route: Route, zones: Collection[str], plan: VenuePlan) -> bool:
    # Whoever named zones that are all gone from the venue is rather told too much than nothing; so is a finding that
    # is about no zone at all.
    named = plan.zones.intersection(route.zones)
    return not named or not zones or not named.isdisjoint(zones)

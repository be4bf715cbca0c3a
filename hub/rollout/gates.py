"""Gates of a rollout in batches: do the nodes that took it do as well as the plan asks? Pure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from hub.fleet.state import NodeState
from hub.rollout.machine_actions import NodeRefusal
from hub.rollout.plan import HealthGates
from schemas import Telemetry

_REMEDY = "see the board's findings and telemetry, mend what is wrong, and plan the rollout again"


@dataclass(frozen=True, slots=True)
class NewFinding:
    """A finding of a node, in a sentence."""

    node: str
    message: str


class FindingSource(Protocol):
    """Where findings come from: the health service. Asked on the fleet loop's thread, about once a second."""

    def opened_since(self, venue: str, since_ms: int) -> Iterable[NewFinding]:
        """Findings of faults that began at or after `since_ms`, whether or not they have ended."""
        ...


class NoFindings:
    """Where nobody looks for any."""

    def opened_since(self, venue: str, since_ms: int) -> Iterable[NewFinding]:  # noqa: ARG002
        return ()


def gate_failures(
    gates: HealthGates,
    venue: str,
    nodes: Mapping[str, NodeState],
    taken_s: float,
    telemetry_interval_s: float,
    findings: FindingSource,
) -> list[NodeRefusal]:
    """What speaks against the nodes of a batch taken at `taken_s`, one a node.

    Telemetry tells of the time since the message before it, so it counts from one interval after the take.
    """
    failures: dict[str, NodeRefusal] = {}
    if gates.no_new_findings:
        for finding in findings.opened_since(venue, round(taken_s * 1_000)):
            if finding.node in nodes:
                failures.setdefault(finding.node, NodeRefusal(finding.node, "findings", finding.message, _REMEDY))
    for name, node in nodes.items():
        telemetry = node.telemetry
        if telemetry is None or node.telemetry_at_s is None or node.telemetry_at_s < taken_s + telemetry_interval_s:
            continue
        reason = _too_low(gates, telemetry)
        if reason is not None:
            failures.setdefault(name, NodeRefusal(name, "telemetry", reason, _REMEDY))
    return list(failures.values())


def _too_low(gates: HealthGates, telemetry: Telemetry) -> str | None:
    lowest, rate = gates.limiter_scale_at_least, gates.frame_rate_share_at_least
    if lowest is not None:
        for supply in telemetry.supplies:
            if supply.limiter_scale < lowest:
                return (
                    f"the budget limiter dims supply {supply.supply} to {supply.limiter_scale:.0%}, below {lowest:.0%}"
                )
    if rate is not None and telemetry.frame_rate_hz < rate * telemetry.frame_rate_target_hz:
        shows = f"{telemetry.frame_rate_hz:.0f} of {telemetry.frame_rate_target_hz:.0f} frames/s"
        return f"it shows {shows}, and the plan asks for {rate:.0%}"
    return None

"""Gates of a rollout in batches: do the nodes that took it do as well as the plan asks? Pure."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, Protocol

from hub.fleet.state import NodeState
from hub.rollout.machine import RolloutMachine
from hub.rollout.machine_actions import NodeRefusal
from hub.rollout.models import Rollout
from hub.rollout.plan import HealthGates, RolloutPlan
from hub.rollout.snapshot import Prepared
from schemas import Telemetry

GATES_EVERY_S: Final = 1.0
_REMEDY: Final = "see the board's findings and telemetry, mend what is wrong, and plan the rollout again"


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


class GateWatch:
    """Looks at the gates of the batch that soaks, once a second; on the fleet loop's thread."""

    def __init__(self, findings: FindingSource) -> None:
        self._findings = findings
        self._due_s = 0.0

    def failures(
        self, row: Rollout, machine: RolloutMachine, prepared: Prepared, states: Iterable[NodeState], now_s: float
    ) -> list[NodeRefusal]:
        """What speaks against the batch; nothing between two looks."""
        taken_s = machine.takes_s[-1]
        if row.plan is None or now_s < max(self._due_s, taken_s):
            return []
        self._due_s = now_s + GATES_EVERY_S
        gates = RolloutPlan.model_validate_json(row.plan).gates
        batch = set(machine.batches[machine.batch])
        nodes = {state.node: state for state in states if state.node in batch}
        interval_s = next(iter(prepared.documents.values())).body.telemetry_interval_s
        return gate_failures(gates, row.venue, nodes, taken_s, interval_s, self._findings)


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

"""What speaks against the nodes of a batch that soaks."""

from collections.abc import Iterable

import pytest

from hub.fleet.state import NodeState
from hub.rollout.gates import NewFinding, gate_failures
from hub.rollout.plan import HealthGates
from schemas import SupplyTelemetry, Telemetry

TAKEN_S, INTERVAL_S = 1_000.0, 5.0
SOME = HealthGates(no_new_findings=True, limiter_scale_at_least=0.8, frame_rate_share_at_least=0.95)


class Told:
    def __init__(self, *found: NewFinding) -> None:
        self.found = found

    def opened_since(self, venue: str, since_ms: int) -> Iterable[NewFinding]:
        assert (venue, since_ms) == ("arcade", 1_000_000)
        return self.found


def _node(scale: float = 1.0, rate_hz: float = 60.0, told_s: float = TAKEN_S + INTERVAL_S) -> dict[str, NodeState]:
    supply = SupplyTelemetry(supply="psu", amps=1.0, highest_a=1.0, limiter_scale=scale, wanted_a=1.0, charge_ah=0.0)
    telemetry = Telemetry(
        boot_id="0a0b0c0d", session=1, sequence=1, uptime_s=9.0, frame_rate_hz=rate_hz, frame_rate_target_hz=60.0,
        late_frames=0, frames=9, render_ms=1.0, supplies=(supply,),
    )  # fmt: skip
    return {"bay-01": NodeState("arcade", "bay-01", online=True, telemetry=telemetry, telemetry_at_s=told_s)}


def _reasons(nodes: dict[str, NodeState], gates: HealthGates = SOME, *found: NewFinding) -> list[str]:
    return [one.reason for one in gate_failures(gates, "arcade", nodes, TAKEN_S, INTERVAL_S, Told(*found))]


def test_node_that_does_well_passes() -> None:
    assert _reasons(_node()) == []
    assert _reasons(_node(scale=0.8, rate_hz=57.0)) == []


@pytest.mark.parametrize(
    ("node", "words"), [(_node(scale=0.79), "dims supply psu to 79%"), (_node(rate_hz=56.9), "57 of 60 frames/s")]
)
def test_node_below_a_gate_is_told_with_its_figure(node: dict[str, NodeState], words: str) -> None:
    (reason,) = _reasons(node)
    assert words in reason


def test_gates_that_are_not_asked_for_hold() -> None:
    assert _reasons(_node(scale=0.1, rate_hz=1.0), HealthGates(no_new_findings=False)) == []


def test_telemetry_of_the_time_before_the_take_counts_for_nothing() -> None:
    assert _reasons(_node(scale=0.1, told_s=TAKEN_S + INTERVAL_S - 0.1)) == []


def test_findings_count_for_nodes_of_the_batch_only_and_once_a_node() -> None:
    found = (NewFinding("bay-01", "it is slow"), NewFinding("bay-01", "it is hot"), NewFinding("bay-02", "it is off"))
    assert _reasons(_node(scale=0.1), SOME, *found) == ["it is slow"]

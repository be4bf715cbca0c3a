"""Snapshots for tests."""

from collections import Counter

from hub.health.kinds import FindingKind, FindingState, Severity
from hub.metrics.snapshot import NodeReading, Snapshot
from schemas import BoardFigures, Telemetry
from tests.hub.played_node import telemetry

BOARD = BoardFigures(
    starts=12,
    start_cause="power",
    errors=3,
    processor_share=0.25,
    memory_free_share=0.5,
    under_voltage=True,
    disk_read_only=False,
    link="wireless",
    signal_dbm=-71.0,
)


def reading(node: str, told: Telemetry | None, venue: str = "arcade") -> NodeReading:
    return NodeReading(
        venue=venue, node=node, online=told is not None, heard_at_s=1_700_000_000.5, telemetry_gaps=2, telemetry=told
    )


def snapshot(*nodes: NodeReading) -> Snapshot:
    counted = {(FindingKind.HOT, Severity.WARNING, FindingState.OPEN.value): 2}
    return Snapshot(
        nodes=nodes,
        supplies={"arcade": frozenset({"psu-1"})},
        findings={"arcade": Counter(counted)},
        link_is_up=True,
        messages_rejected={"malformed-telemetry": 4},
        messages_dropped=5,
        telemetry_stored=1_000,
        telemetry_unstored=6,
    )


def full_telemetry() -> Telemetry:
    return telemetry().model_copy(update={"board": BOARD})

"""A healthy node and what rules see of it; one thing is changed per case."""

from typing import Any

from hub.fleet.state import NodeState
from hub.health.sight import Drawing, LinkSight, NodeSight, SupplySight
from schemas import Held, Reported, Telemetry
from tests.hub.fleet.test_awareness import BOOT, presence
from tests.hub.played_node import telemetry

LINK_UP_S = 1_000.0
NOW_S = 1_101.0
HASH = "0" * 64
BOARD: dict[str, Any] = {
    "starts": 7,
    "start_cause": "power",
    "errors": 0,
    "processor_share": 0.2,
    "memory_free_share": 0.6,
    "disk_free_share": 0.7,
    "disk_worn_share": 0.1,
    "disk_read_only": False,
    "under_voltage": False,
    "throttled": False,
    "link": "wireless",
    "signal_dbm": -55.0,
    "link_mbit_per_s": 72.2,
    "reconnects": 1,
}


def told(board: dict[str, Any] | None = None, **changes: Any) -> Telemetry:  # noqa: ANN401 (any field)
    """Telemetry with board figures, some of either changed."""
    return telemetry(board=BOARD | (board or {}), **changes)


def node(*, online: bool = True, heard_at_s: float | None = 1_100.0, died_at_s: float | None = None) -> NodeState:
    return NodeState(
        "arcade",
        "bay-01",
        online=online,
        presence=presence("online", 1) if heard_at_s is not None else None,
        boot_id=BOOT,
        session=1,
        heard_at_s=heard_at_s,
        died_at_s=died_at_s,
        telemetry=told(),
        telemetry_at_s=heard_at_s,
        reported=Reported(boot_id=BOOT, session=1, showing=Held(revision=3, sha256=HASH)),
    )


def sight(
    state: NodeState,
    *,
    now_s: float = NOW_S,
    link_up_at_s: float | None = LINK_UP_S,
    known_s: float = 0.0,
    desired: int | None = None,
    before: Telemetry | None = None,
) -> NodeSight:
    link = LinkSight(link_up_at_s, () if link_up_at_s is None else (link_up_at_s,))
    seen = NodeSight(state, known_s, now_s, link, lambda _venue, _node: desired, before)
    seen.look(now_s)
    return seen


def sight_of(board: dict[str, Any] | None = None, **changes: Any) -> NodeSight:  # noqa: ANN401 (any field)
    """Of a healthy node whose telemetry has something changed."""
    state = node()
    state.telemetry = told(board, **changes)
    return sight(state)


def supply(*drawing: Drawing, fresh: bool = True) -> SupplySight:
    """Of a budget of 3.2 A."""
    return SupplySight(3.2, drawing, fresh)

"""The rules of clocks: whether a node can keep to the frame, what its show time rests on, who of two clocks is wrong.

Pure, over the node's newest telemetry, with the answers of `hub.health.rules`.
"""

from hub.fleet.state import NodeState
from hub.health.rule import GOOD, UNKNOWN, Fault, Outcome
from hub.health.thresholds import CLOCKS_APART_MS, CLOCKS_TOGETHER_MS, WITHIN_A_FRAME_SHARE


def skewed(node: NodeState, *, open_now: bool) -> Outcome:
    """The node's show time may be off by more than one of its frames: its part of the front is seen to run apart."""
    told = node.telemetry
    if told is None or not node.online or told.clock_dispersion_ms is None:
        return UNKNOWN
    if told.frame_rate_target_hz <= 0:
        return GOOD
    period_ms = 1_000 / told.frame_rate_target_hz
    if told.clock_dispersion_ms <= period_ms * (WITHIN_A_FRAME_SHARE if open_now else 1.0):
        return GOOD
    return Fault(
        node.node,
        {"dispersion_ms": round(told.clock_dispersion_ms, 2), "frame_period_ms": round(period_ms, 2)},
    )


def clock_untrusted(node: NodeState) -> Outcome:
    """The node runs on a clock that nobody vouches for, though it is connected: no exchange has succeeded."""
    told = node.telemetry
    if told is None or not node.online:
        return UNKNOWN
    if told.clock_dispersion_ms is not None or told.clock_source in ("hub", "disciplined"):
        return GOOD
    return Fault(node.node, {"source": told.clock_source, "uptime_s": round(told.uptime_s, 1)})


def clocks_apart(node: NodeState, *, open_now: bool) -> Outcome:
    """Time synchronisation keeps the board's clock, and that says another time than the hub's."""
    told = node.telemetry
    if told is None or not node.online or told.clock_offset_ms is None:
        return UNKNOWN
    limit_ms = CLOCKS_TOGETHER_MS if open_now else CLOCKS_APART_MS
    if not told.wall_clock_disciplined or abs(told.clock_offset_ms) <= limit_ms:
        return GOOD
    return Fault(node.node, {"hub_ahead_s": round(told.clock_offset_ms / 1_000, 3)})

"""The rules: what is wrong with a node or a supply at this moment. Small pure functions; time comes as an argument.

Each answers with a `Fault` and its evidence, with `GOOD`, or with `UNKNOWN` where nothing fresh tells either way.
`open_now` says that the finding is open already: then the limit for its end holds.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from hub.fleet.state import NodeState
from hub.health.rule import GOOD, UNKNOWN, Fault, Outcome
from hub.health.thresholds import (
    HEALTHY_LATE_FRAMES_SHARE,
    LATE_FRAMES_SHARE,
    LIMITER_AT_REST_SCALE,
    LIMITER_AT_WORK_SCALE,
    NEVER_HEARD_GRACE_S,
    OVER_BUDGET_SHARE,
    RECONNECT_GRACE_S,
    SLOW_FRAME_RATE_SHARE,
    WITHIN_BUDGET_SHARE,
)
from schemas import Telemetry


@dataclass(frozen=True, slots=True)
class Drawing:
    """What a node draws from a supply and how far its limiter dims for it, as it told; None where it holds no grant."""

    node: NodeState
    amps: float
    limiter_scale: float
    granted_a: float | None = None

    @property
    def over_its_share(self) -> bool:
        # A node whose dark pixels alone draw more is black, at scale 0: no limiter can do better.
        over = self.granted_a is not None and self.amps > self.granted_a * OVER_BUDGET_SHARE
        return over and self.limiter_scale > 0


def silent(node: NodeState, now_s: float, *, link_up_at_s: float | None, known_since_s: float) -> Outcome:
    """The node is not connected. While our own link is down, or just back, nobody's silence says anything."""
    if node.online:
        return GOOD
    if link_up_at_s is None:
        return UNKNOWN
    if node.heard_at_s is None:
        grace_s = NEVER_HEARD_GRACE_S if node.presence is None else RECONNECT_GRACE_S
        if now_s <= max(link_up_at_s, known_since_s) + grace_s:
            return UNKNOWN
    elif node.heard_at_s < link_up_at_s and now_s <= link_up_at_s + RECONNECT_GRACE_S:
        return UNKNOWN
    told_by_will = node.died_at_s is not None and (node.heard_at_s is None or node.died_at_s >= node.heard_at_s)
    return Fault(
        node.node,
        {
            "last_heard_at_ms": _ms(node.heard_at_s),
            "told_by": "last will" if told_by_will else "no word" if node.heard_at_s is not None else "never heard",
            "died_at_ms": _ms(node.died_at_s) if told_by_will else None,
        },
    )


def overloaded(budget_a: float, drawing: Iterable[Drawing], *, fresh: bool, open_now: bool) -> Outcome:
    """A supply gives more than its budget, a node draws more than its share, or a limiter has to dim for it.

    `drawing` holds each node with fresh telemetry; `fresh` tells whether that is all of them: a sum with nodes missing
    can prove too much, but never enough.
    """
    nodes = list(drawing)
    if not nodes:
        return UNKNOWN
    amps = sum(one.amps for one in nodes)
    over = amps > budget_a * (WITHIN_BUDGET_SHARE if open_now else OVER_BUDGET_SHARE)
    greedy = [one for one in nodes if one.over_its_share]
    dimmest = min(nodes, key=lambda one: one.limiter_scale)
    scale = dimmest.limiter_scale
    if over:
        worst, reason = max(nodes, key=lambda one: one.amps), "over budget"
    elif greedy:
        worst, reason = max(greedy, key=lambda one: one.amps), "over its share"
    elif scale < (LIMITER_AT_REST_SCALE if open_now else LIMITER_AT_WORK_SCALE):
        worst, reason = dimmest, "budget limiter at work"
    else:
        return GOOD if fresh else UNKNOWN
    share_a = budget_a if over or worst.granted_a is None else min(worst.granted_a, budget_a)
    return Fault(
        worst.node.node,
        {
            "reason": reason,
            "amps": round(amps if over else worst.amps, 3),
            "budget_a": round(budget_a, 3),
            "share_a": round(share_a, 3),
            "limiter_scale": round(scale, 3),
        },
    )


def slow(node: NodeState, before: Telemetry | None, *, open_now: bool) -> Outcome:
    """The newest telemetry, against the one before it: frame rate under target, or too many frames shown late."""
    now = node.telemetry
    if now is None or not node.online:
        return UNKNOWN
    if now.frame_rate_target_hz <= 0:
        return GOOD
    late_share = _late_share(before, now)
    too_slow = now.frame_rate_hz < now.frame_rate_target_hz * SLOW_FRAME_RATE_SHARE
    too_late = late_share > (HEALTHY_LATE_FRAMES_SHARE if open_now else LATE_FRAMES_SHARE)
    if not too_slow and not too_late:
        return GOOD
    return Fault(
        node.node,
        {
            "frame_rate_hz": round(now.frame_rate_hz, 2),
            "frame_rate_target_hz": round(now.frame_rate_target_hz, 2),
            "late_share": round(late_share, 4),
            "render_ms": round(now.render_ms, 3),
        },
    )


def behind(node: NodeState, desired_revision: int | None) -> Outcome:
    """The node shows another revision than desired."""
    if desired_revision is None:
        return GOOD
    if not node.online or node.reported is None:
        return UNKNOWN
    showing = node.reported.showing
    if showing is not None and showing.revision == desired_revision:
        return GOOD
    refusal = node.reported.refusal
    return Fault(
        node.node,
        {
            "revision_desired": desired_revision,
            "revision_showing": showing.revision if showing is not None else None,
            "refused": refusal.reason if refusal is not None and refusal.revision == desired_revision else None,
        },
    )


def _late_share(before: Telemetry | None, now: Telemetry) -> float:
    if before is None or before.boot_id != now.boot_id or now.frames <= before.frames:
        return 0.0
    return max(0, now.late_frames - before.late_frames) / (now.frames - before.frames)


def _ms(seconds: float | None) -> int | None:
    return int(seconds * 1000) if seconds is not None else None

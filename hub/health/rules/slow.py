"""Slow: fewer frames than wanted, or too many of them late."""

from typing import Final

from hub.cautions import HEAT, HEIGHT, METER
from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.rule import GOOD, UNKNOWN, Evidence, Fault, Hysteresis, Outcome, Rule, Words
from hub.health.rules.figures import percent
from hub.health.sight import NodeSight
from schemas import Telemetry

# Movement is seen to stutter from about one frame in fifty (common practice, no source).
SLOW_FRAME_RATE_SHARE: Final = 0.98
LATE_FRAMES_SHARE: Final = 0.02
HEALTHY_LATE_FRAMES_SHARE: Final = 0.01
# Of its frame period: whoever renders for longer has no time left to send (common practice, no source).
HEAVY_RENDER_SHARE: Final = 0.5


def judge(sight: NodeSight, *, open_now: bool) -> Outcome:
    """The newest telemetry, against the one before it."""
    told = sight.told
    if told is None or not sight.node.online:
        return UNKNOWN
    if told.frame_rate_target_hz <= 0:
        return GOOD
    late_share = _late_share(sight.before, told)
    too_slow = told.frame_rate_hz < told.frame_rate_target_hz * SLOW_FRAME_RATE_SHARE
    too_late = late_share > (HEALTHY_LATE_FRAMES_SHARE if open_now else LATE_FRAMES_SHARE)
    if not too_slow and not too_late:
        return GOOD
    board = told.board
    return Fault(
        sight.node.node,
        {
            "frame_rate_hz": round(told.frame_rate_hz, 2),
            "frame_rate_target_hz": round(told.frame_rate_target_hz, 2),
            "late_share": round(late_share, 4),
            "render_ms": round(told.render_ms, 3),
            "throttled": int(board is not None and bool(board.throttled)),
            "processor_share": None if board is None else board.processor_share,
        },
    )


def _late_share(before: Telemetry | None, told: Telemetry) -> float:
    if before is None or before.boot_id != told.boot_id or told.frames <= before.frames:
        return 0.0
    return max(0, told.late_frames - before.late_frames) / (told.frames - before.frames)


def words(node: str, evidence: Evidence) -> Words:
    late = f", {percent(evidence['late_share'])} of them late" if evidence["late_share"] else ""
    rates = f"{evidence['frame_rate_hz']} frames/s of {evidence['frame_rate_target_hz']}"
    message = f"{node} shows {rates}{late}: movement stutters."
    if evidence["throttled"]:
        return Words(
            message,
            "Its processor slows itself down, for heat or for want of volts.",
            "Feel whether the board is hot and give it air; measure volts at its input.",
        )
    if float(str(evidence["render_ms"])) * float(str(evidence["frame_rate_target_hz"])) > HEAVY_RENDER_SHARE * 1_000:
        return Words(
            message,
            f"The scene is too much for the board: {evidence['render_ms']} ms to render a frame.",
            "Fewer layers, fewer pixels on its longest run, or a lower frame rate of this node make frames cheaper.",
        )
    return Words(
        message,
        "Other work on the board, or a data output that takes too long.",
        "List the board's programs by processor time and stop what it is not there for; then read the agent's log.",
    )


RULE: Final = Rule(
    FindingKind.SLOW,
    Severity.WARNING,
    Hysteresis(opens_after_s=30.0, ends_after_s=30.0),
    words,
    cautions=(METER, HEAT, HEIGHT),
    causes=(CauseKind.VENUE,),
    # Why a slow node is slow stands in its own words.
    explains=(FindingKind.THROTTLED,),
)

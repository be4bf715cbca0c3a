"""A node's live state as the API and the event stream show it."""

from pydantic import BaseModel, Field

from hub.fleet.state import NodeState
from schemas.contract import Id
from schemas.messages import BoardFigures, ClockSource


class SupplyReading(BaseModel):
    """This node's draw from one supply, by its newest telemetry."""

    supply: Id
    amps: float
    highest_a: float = Field(description="Highest frame between the two newest telemetry messages, amps.")
    limiter_scale: float = Field(description="Lowest scale of the budget limiter in that time; 1 is no limiting.")


class RefusalView(BaseModel):
    """Why the node would not stage a revision."""

    field: str
    reason: str
    remedy: str


class NodeStateView(BaseModel):
    """What a node last said of itself. Null is: not said. Times are show time, ms."""

    node: Id
    title: str | None
    online: bool
    heard_at_ms: int | None
    agent_version: str | None
    uptime_s: float | None = Field(description="Since the agent started.")
    revision_desired: int | None
    revision_staged: int | None
    revision_showing: int | None
    scene: str | None
    frame_rate_hz: float | None
    frame_rate_target_hz: float | None
    late_frames: int | None
    render_ms: float | None = Field(description="Mean time to render, limit and encode a frame.")
    rejected_messages: int | None = Field(description="Messages that it refused as malformed since it started.")
    temperature_c: float | None
    clock_offset_ms: float | None
    clock_dispersion_ms: float | None
    clock_drift_ppm: float | None = Field(description="How much the board's own clock loses on show time.")
    clock_source: ClockSource | None = Field(
        description="What its show time rests on: exchanges with the hub, a wall clock kept by time synchronisation, "
        "a wall clock that nobody vouches for, or the last time known before the start plus uptime."
    )
    wall_clock_disciplined: bool | None = Field(description="Whether time synchronisation keeps its wall clock.")
    board: BoardFigures | None = Field(description="What the board's own system says.")
    supplies: list[SupplyReading]
    refusal: RefusalView | None


def view_of(node: NodeState, title: str | None, revision_desired: int | None) -> NodeStateView:
    reported, telemetry = node.reported, node.telemetry
    refusal = reported.refusal if reported else None
    supplies = telemetry.supplies if telemetry else ()
    return NodeStateView(
        node=node.node,
        title=title,
        online=node.online,
        heard_at_ms=int(node.heard_at_s * 1000) if node.heard_at_s is not None else None,
        agent_version=node.agent_version,
        uptime_s=telemetry.uptime_s if telemetry else None,
        revision_desired=revision_desired,
        revision_staged=reported.staged.revision if reported and reported.staged else None,
        revision_showing=reported.showing.revision if reported and reported.showing else None,
        scene=reported.scene if reported else None,
        frame_rate_hz=telemetry.frame_rate_hz if telemetry else None,
        frame_rate_target_hz=telemetry.frame_rate_target_hz if telemetry else None,
        late_frames=telemetry.late_frames if telemetry else None,
        render_ms=telemetry.render_ms if telemetry else None,
        rejected_messages=telemetry.rejected_messages if telemetry else None,
        temperature_c=telemetry.temperature_c if telemetry else None,
        clock_offset_ms=telemetry.clock_offset_ms if telemetry else None,
        clock_dispersion_ms=telemetry.clock_dispersion_ms if telemetry else None,
        clock_drift_ppm=telemetry.clock_drift_ppm if telemetry else None,
        clock_source=telemetry.clock_source if telemetry else None,
        wall_clock_disciplined=telemetry.wall_clock_disciplined if telemetry else None,
        board=telemetry.board if telemetry else None,
        supplies=[
            SupplyReading(supply=one.supply, amps=one.amps, highest_a=one.highest_a, limiter_scale=one.limiter_scale)
            for one in supplies
        ],
        refusal=RefusalView(field=refusal.field, reason=refusal.reason, remedy=refusal.remedy) if refusal else None,
    )

"""What a node says of itself (presence, reported, telemetry) and the one message that makes all nodes change (take)."""

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from schemas.contract import Amps, Contract, Id, Revision, Sha256, ShowTimeMs, Text, Token
from schemas.fade import FadeMs
from schemas.grant import GrantHeld

Version = Annotated[str, StringConstraints(pattern=r"^[0-9A-Za-z.+-]{1,32}$")]
Session = Annotated[
    int, Field(ge=0, le=255, description="Counts connections, wraps at 255; names the will that it belongs to.")
]
Counter = Annotated[int, Field(ge=0, le=2**53 - 1)]
Seconds = Annotated[float, Field(ge=0, le=1e10)]
Milliseconds = Annotated[float, Field(ge=-1e13, le=1e13)]
ClockSource = Literal["hub", "disciplined", "wall", "kept"]
"""Exchanges with the hub; a wall clock that time synchronisation keeps; a wall clock that nobody vouches for; or the
last show time known before the start plus uptime, since the wall clock lies behind it."""
StartCause = Literal["first", "power", "reboot", "restart", "crash", "unknown"]
"""Why the agent runs anew: it never ran before; the board lost power or was reset; it was shut down in order; the agent
was restarted; the agent ended without a word while the board ran on; or nobody can tell."""
Share = Annotated[float, Field(ge=0, le=1)]
Hertz = Annotated[float, Field(ge=0, le=10_000)]


class Presence(Contract):
    """Birth and death. A death counts only against the session (and boot) that it names."""

    schema_version: Literal[1] = 1
    state: Literal["online", "offline"]
    boot_id: Token
    session: Session
    agent_version: Version


class Refusal(Contract):
    """Why a node will not stage a revision: the field at fault, what is wrong, and what to do about it."""

    revision: Revision
    field: Annotated[str, StringConstraints(max_length=200, pattern=r"^[^\x00-\x1f\x7f-\x9f]*$")]
    reason: Text
    remedy: Text


class Held(Contract):
    """A revision that the node holds, by number and hash."""

    revision: Revision
    sha256: Sha256


class Reported(Contract):
    """What the node holds and shows. `staged` is held and validated but not taken; `showing` is on the pixels."""

    schema_version: Literal[1] = 1
    boot_id: Token
    session: Session
    staged: Held | None = None
    showing: Held | None = None
    scene: Annotated[Id | None, Field(description="What shows by now; timed takes change it too.")] = None
    taken_at_ms: Annotated[
        ShowTimeMs | None,
        Field(description="Show time of the first frame of what shows: of its take, or of a timed take since."),
    ] = None
    refusal: Refusal | None = None
    grant: Annotated[GrantHeld | None, Field(description="None while the node holds no grant.")] = None
    damaged_state: Annotated[Text | None, Field(description="Set when a damaged state file was set aside.")] = None


class SupplyTelemetry(Contract):
    """This node's draw from one supply: now, and the highest frame since the last telemetry.

    `wanted_a` is the highest that the scene asked for, before the limiter; `charge_ah` counts from the agent's start.
    """

    supply: Id
    amps: Amps
    highest_a: Amps
    limiter_scale: Annotated[float, Field(ge=0, le=1, description="Lowest limiter scale since the last telemetry.")]
    wanted_a: Amps
    charge_ah: Annotated[float, Field(ge=0, le=1e9, description="Amp-hours drawn since the agent started.")]


class BoardFigures(Contract):
    """What the board's own system says. Null is: this board does not tell. Flags hold since the last telemetry."""

    starts: Annotated[Counter, Field(description="Times that the agent has started on this board's disk.")]
    start_cause: StartCause = "unknown"
    errors: Annotated[Counter, Field(description="Errors that the agent logged since it started.")] = 0
    processor_share: Annotated[Share | None, Field(description="Busy share of all its processors.")] = None
    memory_free_share: Annotated[Share | None, Field(description="Memory that programs could still have.")] = None
    disk_free_share: Annotated[Share | None, Field(description="Of the disk that holds the agent's state.")] = None
    disk_worn_share: Annotated[Share | None, Field(description="Used up of its flash memory's life.")] = None
    disk_read_only: Annotated[bool | None, Field(description="The system no longer writes to that disk.")] = None
    under_voltage: Annotated[bool | None, Field(description="The board's own supply was too low.")] = None
    throttled: Annotated[bool | None, Field(description="The processor was slowed down, mostly for heat.")] = None
    link: Annotated[Literal["wired", "wireless"] | None, Field(description="How it reaches the broker.")] = None
    signal_dbm: Annotated[float, Field(ge=-200, le=50, description="Of a wireless link.")] | None = None
    link_mbit_per_s: Annotated[float, Field(ge=0, le=1e6, description="Agreed speed of the link.")] | None = None
    reconnects: Annotated[Counter, Field(description="Connections after the first, since the agent started.")] = 0


class Telemetry(Contract):
    """Sent every `telemetry_interval_s`, spread by jitter. `sequence` steps by one a message and wraps at 255."""

    schema_version: Literal[1] = 1
    boot_id: Token
    session: Session
    sequence: Session
    uptime_s: Seconds
    revision: Revision | None = None
    frame_rate_hz: Hertz
    frame_rate_target_hz: Hertz
    late_frames: Annotated[Counter, Field(description="Frames shown late since the agent started.")]
    frames: Annotated[Counter, Field(description="Frames shown since the agent started.")]
    render_ms: Annotated[float, Field(ge=0, le=60_000, description="Mean time to render, limit and encode a frame.")]
    supplies: Annotated[tuple[SupplyTelemetry, ...], Field(max_length=128)] = ()
    temperature_c: Annotated[float, Field(ge=-100, le=300)] | None = None
    clock_offset_ms: Annotated[Milliseconds | None, Field(description="Show time minus the board's wall clock.")] = None
    clock_dispersion_ms: Annotated[Milliseconds | None, Field(description="Largest likely error of the offset.")] = None
    clock_drift_ppm: Annotated[
        float | None,
        Field(ge=-1e6, le=1e6, description="How much the board's own clock loses on show time, estimated."),
    ] = None
    clock_source: Annotated[ClockSource, Field(description="What show time rests on at this moment.")] = "wall"
    wall_clock_disciplined: Annotated[
        bool, Field(description="Whether time synchronisation keeps the board's wall clock right.")
    ] = False
    rejected_messages: Annotated[
        Counter, Field(description="Messages refused as malformed since the agent started.")
    ] = 0
    board: BoardFigures | None = None


class Take(Contract):
    """On `all/take`: whoever holds `revision` shows it from `at_ms`. Repeated until then; harmless when repeated."""

    schema_version: Literal[1] = 1
    revision: Revision
    at_ms: ShowTimeMs
    fade_ms: FadeMs = 0

"""One line a family of metrics that each node has: its name, unit, meaning, and where the value is found.

Units are base units as OpenMetrics 1.0 asks, so amp-hours become coulombs and milliseconds seconds.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from hub.metrics.snapshot import NodeReading
from schemas import BoardFigures, SupplyTelemetry, Telemetry

_S_PER_HOUR: Final = 3_600


@dataclass(frozen=True, slots=True)
class NodeFamily:
    """`value` is None where the node does not tell; the sample is then left out."""

    name: str
    unit: str
    kind: Literal["gauge", "counter"]
    meaning: str
    value: Callable[[NodeReading], float | None]


@dataclass(frozen=True, slots=True)
class NodeSupplyFamily:
    """Of a node's draw from each of its supplies."""

    name: str
    unit: str
    kind: Literal["gauge", "counter"]
    meaning: str
    value: Callable[[SupplyTelemetry], float]


def _told(value: Callable[[Telemetry], float | None]) -> Callable[[NodeReading], float | None]:
    return lambda reading: None if reading.telemetry is None else value(reading.telemetry)


def _by_board(value: Callable[[BoardFigures], float | None]) -> Callable[[NodeReading], float | None]:
    return _told(lambda telemetry: None if telemetry.board is None else value(telemetry.board))


def _ms(value: float | None) -> float | None:
    return None if value is None else value / 1_000


NODE_FAMILIES: Final = (
    NodeFamily("online", "", "gauge", "1 while the node is connected.", lambda reading: reading.online),
    NodeFamily(
        "heard_timestamp",
        "seconds",
        "gauge",
        "When the node was last heard, since 1970 (UTC).",
        lambda reading: reading.heard_at_s,
    ),
    NodeFamily(
        "telemetry_gaps",
        "",
        "counter",
        "Gaps in the sequence of its telemetry since the hub started.",
        lambda reading: reading.telemetry_gaps,
    ),
    NodeFamily("uptime", "seconds", "gauge", "Since its agent started.", _told(lambda one: one.uptime_s)),
    NodeFamily("frame_rate", "hertz", "gauge", "Frames shown in a second.", _told(lambda one: one.frame_rate_hz)),
    NodeFamily(
        "frame_rate_target",
        "hertz",
        "gauge",
        "Frames that its runs allow in a second.",
        _told(lambda one: one.frame_rate_target_hz),
    ),
    NodeFamily("frames", "", "counter", "Frames shown since its agent started.", _told(lambda one: one.frames)),
    NodeFamily(
        "late_frames", "", "counter", "Frames shown late since its agent started.", _told(lambda one: one.late_frames)
    ),
    NodeFamily(
        "render_time",
        "seconds",
        "gauge",
        "Mean time to render, limit and encode a frame.",
        _told(lambda one: _ms(one.render_ms)),
    ),
    NodeFamily("temperature", "celsius", "gauge", "Of its board.", _told(lambda one: one.temperature_c)),
    NodeFamily(
        "clock_dispersion",
        "seconds",
        "gauge",
        "Largest likely error of its show time.",
        _told(lambda one: _ms(one.clock_dispersion_ms)),
    ),
    NodeFamily(
        "rejected_messages",
        "",
        "counter",
        "Messages that it refused as malformed since its agent started.",
        _told(lambda one: one.rejected_messages),
    ),
    NodeFamily("starts", "", "counter", "Starts of its agent on its disk.", _by_board(lambda one: one.starts)),
    NodeFamily("errors", "", "counter", "Errors logged since its agent started.", _by_board(lambda one: one.errors)),
    NodeFamily(
        "reconnects",
        "",
        "counter",
        "Connections after the first, since its agent started.",
        _by_board(lambda one: one.reconnects),
    ),
    NodeFamily(
        "processor_busy", "ratio", "gauge", "Busy share of its processors.", _by_board(lambda one: one.processor_share)
    ),
    NodeFamily(
        "memory_free",
        "ratio",
        "gauge",
        "Memory that programs could still have.",
        _by_board(lambda one: one.memory_free_share),
    ),
    NodeFamily(
        "disk_free", "ratio", "gauge", "Of the disk that holds its state.", _by_board(lambda one: one.disk_free_share)
    ),
    NodeFamily(
        "disk_worn",
        "ratio",
        "gauge",
        "Used up of its flash memory's life.",
        _by_board(lambda one: one.disk_worn_share),
    ),
    NodeFamily(
        "disk_read_only", "", "gauge", "1 while its disk takes no writes.", _by_board(lambda one: one.disk_read_only)
    ),
    NodeFamily(
        "under_voltage",
        "",
        "gauge",
        "1 while the board's own supply is too low.",
        _by_board(lambda one: one.under_voltage),
    ),
    NodeFamily("throttled", "", "gauge", "1 while its processor is slowed down.", _by_board(lambda one: one.throttled)),
    NodeFamily(
        "signal",
        "dbm",
        "gauge",
        "Of its wireless link, in decibels to a milliwatt.",
        _by_board(lambda one: one.signal_dbm),
    ),
)

NODE_SUPPLY_FAMILIES: Final = (
    NodeSupplyFamily("draw", "amperes", "gauge", "The node's draw from the supply.", lambda one: one.amps),
    NodeSupplyFamily(
        "highest_draw",
        "amperes",
        "gauge",
        "Its highest frame between the two newest telemetry messages.",
        lambda one: one.highest_a,
    ),
    NodeSupplyFamily(
        "charge", "coulombs", "counter", "Drawn since its agent started.", lambda one: one.charge_ah * _S_PER_HOUR
    ),
    NodeSupplyFamily(
        "limiter_scale",
        "ratio",
        "gauge",
        "Lowest scale of the budget limiter in that time; 1 is no limiting.",
        lambda one: one.limiter_scale,
    ),
)

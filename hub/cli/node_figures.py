"""A node's figures in words: line by line for a person who looks at one node, column by column for one who watches."""

import time
from typing import Any, Final

CLOCK_SOURCES: Final = {
    "hub": "the hub",
    "disciplined": "its own clock, kept by time synchronisation",
    "wall": "its own clock, which nobody vouches for",
    "kept": "the last time known before its start, plus uptime",
}
KEPT_BY: Final = {True: "time synchronisation", False: "nobody"}
START_CAUSES: Final = {
    "first": "it never ran before",
    "power": "the board lost power or was reset",
    "reboot": "the board was shut down in order",
    "restart": "the agent was restarted",
    "crash": "the agent ended without a word",
    "unknown": "nobody can tell why",
}
YES: Final = {True: "yes", False: "no"}

_COLUMNS: Final = (
    ("time", 8),
    ("frames/s", 8),
    ("late", 6),
    ("render", 8),
    ("amps", 7),
    ("limiter", 7),
    ("temp", 6),
    ("clock", 8),
    ("busy", 5),
    ("memory", 6),
    ("link", 12),
)


def rows_of(state: dict[str, Any]) -> list[tuple[str, object]]:
    """What a node last said of itself, a row a figure; None is not told."""
    refusal = state["refusal"]
    offset, dispersion, drift = (state[f"clock_{what}"] for what in ("offset_ms", "dispersion_ms", "drift_ppm"))
    frame_rate = state["frame_rate_hz"]
    return [
        ("node", state["node"]),
        ("title", state["title"]),
        ("state", "online" if state["online"] else "offline"),
        ("heard", ago(state["heard_at_ms"])),
        ("agent", state["agent_version"]),
        ("agent runs for", _span(state["uptime_s"])),
        ("scene", state["scene"]),
        ("revision showing", state["revision_showing"]),
        ("revision staged", state["revision_staged"]),
        ("revision desired", state["revision_desired"]),
        ("frames/s", None if frame_rate is None else f"{frame_rate:.1f} of {state['frame_rate_target_hz']:.1f}"),
        ("late frames", state["late_frames"]),
        ("a frame takes", _with(state["render_ms"], "{:.2f} ms")),
        ("temperature", _with(state["temperature_c"], "{:.0f} °C")),
        ("show time from", CLOCK_SOURCES.get(state["clock_source"])),
        ("ahead of its clock", f"{offset:.2f} ms ± {dispersion or 0:.2f} ms" if offset is not None else None),
        ("its clock is kept by", KEPT_BY.get(state["wall_clock_disciplined"])),
        ("its clock loses", _with(drift, "{:.1f} ppm")),
        ("messages refused", state["rejected_messages"]),
        ("refuses", f"{refusal['field']}: {refusal['reason']} {refusal['remedy']}" if refusal else None),
        *(_board_rows(state["board"]) if state["board"] else ()),
    ]


def _board_rows(board: dict[str, Any]) -> list[tuple[str, object]]:
    return [
        ("starts", f"{board['starts']}; this time: {START_CAUSES.get(board['start_cause'], board['start_cause'])}"),
        ("errors logged", board["errors"]),
        ("reconnects", board["reconnects"]),
        ("link", link_words(board)),
        ("processors busy", _share(board["processor_share"])),
        ("memory free", _share(board["memory_free_share"])),
        ("disk free", _share(board["disk_free_share"])),
        ("disk worn", _share(board["disk_worn_share"])),
        ("disk read-only", YES.get(board["disk_read_only"])),
        ("under-voltage", YES.get(board["under_voltage"])),
        ("throttled", YES.get(board["throttled"])),
    ]


def link_words(board: dict[str, Any]) -> str | None:
    """Such as `wireless -67 dBm` or `wired 100 Mbit/s`."""
    if board["link"] is None:
        return None
    told = _with(board["signal_dbm"], "{:.0f} dBm"), _with(board["link_mbit_per_s"], "{:.0f} Mbit/s")
    return " ".join([board["link"], *(words for words in told if words)])


def live_columns() -> str:
    """The line above the lines of `live_line`."""
    return "  ".join(name.rjust(width) for name, width in _COLUMNS)


def live_line(state: dict[str, Any]) -> str:
    """One message's figures."""
    board = state["board"] or {}
    scales = [supply["limiter_scale"] for supply in state["supplies"]]
    values = (
        time.strftime("%H:%M:%S", time.localtime((state["heard_at_ms"] or 0) / 1_000)),
        _with(state["frame_rate_hz"], "{:.1f}"),
        state["late_frames"],
        _with(state["render_ms"], "{:.2f} ms"),
        _with(amps(state), "{:.2f}"),
        _with(min(scales, default=None), "{:.2f}"),
        _with(state["temperature_c"], "{:.0f} °C"),
        _with(state["clock_dispersion_ms"], "±{:.1f} ms"),
        _share(board.get("processor_share")),
        _share(board.get("memory_free_share")),
        link_words(board) if board else None,
    )
    return "  ".join(
        ("–" if value is None else str(value)).rjust(width) for value, (_, width) in zip(values, _COLUMNS, strict=True)
    )


def amps(state: dict[str, Any]) -> float | None:
    """Of all its supplies."""
    return sum(one["amps"] for one in state["supplies"]) if state["supplies"] else None


def ago(at_ms: int | None) -> str | None:
    return None if at_ms is None else f"{_span(max(0.0, time.time() - at_ms / 1_000))} ago"


def _span(seconds: float | None) -> str | None:
    if seconds is None:
        return None
    for unit, length_s in (("d", 86_400), ("h", 3_600), ("min", 60)):
        if seconds >= 2 * length_s:
            return f"{seconds / length_s:.0f} {unit}"
    return f"{seconds:.0f} s"


def _share(share: float | None) -> str | None:
    return _with(None if share is None else 100 * share, "{:.0f} %")


def _with(value: float | None, words: str) -> str | None:
    return None if value is None else words.format(value)

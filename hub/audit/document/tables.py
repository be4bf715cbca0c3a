"""The audit as CSV (RFC 4180, UTF-8): a line a supply, and a line a feed. Units stand in the columns' names. Pure."""

import csv
import io
from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType
from typing import Final

from hub.audit.view import Audit, SupplyAudit
from hub.audit.wiring_view import FeedAudit, RunAudit

Cell = str | float | int | None

STARTS_A_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")

SUPPLY_COLUMNS: Final[Mapping[str, Callable[[SupplyAudit], Cell]]] = MappingProxyType(
    {
        "supply": lambda one: one.supply,
        "title": lambda one: one.title,
        "volts": lambda one: one.volts,
        "rated_a": lambda one: one.rated_a,
        "derating": lambda one: one.derating,
        "budget_a": lambda one: one.budget_a,
        "worst_case_a": lambda one: one.worst_case_a,
        "scene_peak_a": lambda one: one.scene_peak_a,
        "typical_a": lambda one: one.typical_a,
        "telemetry_highest_a": lambda one: one.telemetry_highest_a,
        "telemetry_hours": lambda one: one.telemetry_hours,
        "telemetry_percentile_95_a": lambda one: one.telemetry_percentile_95_a,
        "telemetry_now_a": lambda one: one.telemetry_now_a,
        "pixels": lambda one: one.pixels,
        "nodes": lambda one: " ".join(one.nodes),
        "sharing": lambda one: one.sharing,
        "headroom_worst_case_a": lambda one: one.headroom_worst_case.amps,
        "headroom_worst_case_pixels": lambda one: one.headroom_worst_case.pixels,
        "headroom_typical_a": lambda one: one.headroom_typical.amps,
        "headroom_typical_pixels": lambda one: one.headroom_typical.pixels,
        "class_2": lambda one: "yes" if one.class_2 else "no",
        "lowest_under_budget_v": lambda one: one.lowest_under_budget_v,
        "verdict": lambda one: one.verdict.value,
        "reason": lambda one: one.reason,
        "wiring": lambda one: one.wiring.value,
    }
)

FEED_COLUMNS: Final[Mapping[str, Callable[[RunAudit, FeedAudit], Cell]]] = MappingProxyType(
    {
        "supply": lambda _run, feed: feed.supply,
        "node": lambda run, _feed: run.node,
        "channel": lambda run, _feed: run.channel,
        "at_pixel": lambda _run, feed: feed.at_pixel,
        "pixel_type": lambda run, _feed: run.pixel_type,
        "run_pixels": lambda run, _feed: run.pixels,
        "wire": lambda _run, feed: feed.wire,
        "area_mm2": lambda _run, feed: feed.area_mm2,
        "length_m": lambda _run, feed: feed.length_m,
        "conductor_c": lambda _run, feed: feed.conductor_c,
        "loop_ohm": lambda _run, feed: feed.loop_ohm,
        "ampacity_a": lambda _run, feed: feed.ampacity_a,
        "fuse_a": lambda _run, feed: feed.fuse_a,
        "fitting_fuses_a": lambda _run, feed: " ".join(f"{rating:g}" for rating in feed.fitting_fuses_a),
        "typical_a": lambda _run, feed: feed.typical_a,
        "under_budget_a": lambda _run, feed: feed.under_budget_a,
        "worst_case_a": lambda _run, feed: feed.worst_case_a,
        "loaded_a": lambda _run, feed: feed.loaded_a,
        "drop_v": lambda _run, feed: feed.drop_v,
        "heat_w": lambda _run, feed: feed.heat_w,
    }
)


def supplies_csv(audit: Audit) -> str:
    """A line a supply, in the venue's order; empty where a figure is not known."""
    return _table(SUPPLY_COLUMNS, ([value(one) for value in SUPPLY_COLUMNS.values()] for one in audit.supplies))


def feeds_csv(audit: Audit) -> str:
    """A line a feed, runs in the venue's order; empty where a figure is not known."""
    return _table(
        FEED_COLUMNS,
        ([value(run, feed) for value in FEED_COLUMNS.values()] for run in audit.runs for feed in run.feeds),
    )


def harmless(cell: Cell) -> Cell:
    """`cell`, its text marked with an apostrophe where a spreadsheet would take it for a formula and run it."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(STARTS_A_FORMULA) else cell


def _table(columns: Iterable[str], rows: Iterable[list[Cell]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text)  # its lines end with CR LF, as RFC 4180 asks
    writer.writerow(columns)
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return text.getvalue()

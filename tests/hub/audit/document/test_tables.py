"""The CSV is the audit, readable by any CSV reader, and runs nothing in a spreadsheet."""

import csv
import io
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hub.audit.document.tables import FEED_COLUMNS, SUPPLY_COLUMNS, feeds_csv, harmless, supplies_csv
from hub.audit.service import Examined
from tests.hub.audit.document.examples import FORMULA_TITLE, LONG_ID, demo, hard


def read(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def shown(value: object) -> str:
    return "" if value is None else str(value)


@pytest.mark.parametrize("examined", [demo, hard])
def test_supplies_read_back_are_the_audits(examined: Callable[[], Examined]) -> None:
    audit = examined().audit
    rows = read(supplies_csv(audit))
    assert [row["supply"] for row in rows] == [one.supply for one in audit.supplies]
    for row, one in zip(rows, audit.supplies, strict=True):
        told = one.model_dump(mode="json", exclude={"nodes", "shares", "class_2", "title"})
        for which in ("worst_case", "typical"):
            headroom = told.pop(f"headroom_{which}")
            told |= {f"headroom_{which}_a": headroom["amps"], f"headroom_{which}_pixels": headroom["pixels"]}
        assert {name: row[name] for name in told} == {name: shown(value) for name, value in told.items()}
        assert row["nodes"].split() == one.nodes
        assert row["class_2"] == ("yes" if one.class_2 else "no")
        assert set(row) == {*told, "nodes", "class_2", "title"}


@pytest.mark.parametrize("examined", [demo, hard])
def test_feeds_read_back_are_the_audits(examined: Callable[[], Examined]) -> None:
    audit = examined().audit
    rows = read(feeds_csv(audit))
    feeds = [(run, feed) for run in audit.runs for feed in run.feeds]
    assert len(rows) == len(feeds)
    for row, (run, feed) in zip(rows, feeds, strict=True):
        told = feed.model_dump(mode="json", exclude={"fitting_fuses_a"})
        assert {name: row[name] for name in told} == {name: shown(value) for name, value in told.items()}
        assert [float(rating) for rating in row["fitting_fuses_a"].split()] == feed.fitting_fuses_a
        assert (row["node"], row["channel"], row["run_pixels"]) == (run.node, str(run.channel), str(run.pixels))
        assert set(row) == {*told, "fitting_fuses_a", "node", "channel", "pixel_type", "run_pixels"}


def test_column_names_stay_as_they_are() -> None:
    assert tuple(SUPPLY_COLUMNS) == (
        "supply", "title", "volts", "rated_a", "derating", "budget_a", "worst_case_a", "scene_peak_a", "typical_a",
        "telemetry_highest_a", "telemetry_hours", "telemetry_percentile_95_a", "telemetry_now_a", "pixels", "nodes",
        "sharing", "headroom_worst_case_a", "headroom_worst_case_pixels", "headroom_typical_a",
        "headroom_typical_pixels", "class_2", "lowest_under_budget_v", "verdict", "reason", "wiring",
    )  # fmt: skip
    assert tuple(FEED_COLUMNS) == (
        "supply", "node", "channel", "at_pixel", "pixel_type", "run_pixels", "wire", "area_mm2", "length_m",
        "conductor_c", "loop_ohm", "ampacity_a", "fuse_a", "fitting_fuses_a", "typical_a", "under_budget_a",
        "worst_case_a", "loaded_a", "drop_v", "heat_w",
    )  # fmt: skip


def test_lines_end_as_rfc_4180_asks() -> None:
    text = supplies_csv(demo().audit)
    assert text.count("\r\n") == text.count("\n") == 1 + len(demo().audit.supplies)
    assert text.endswith("\r\n")


def test_title_that_is_a_formula_is_text_in_a_spreadsheet() -> None:
    row = next(row for row in read(supplies_csv(hard().audit)) if row["supply"] == LONG_ID)
    assert row["title"] == f"'{FORMULA_TITLE}"


@given(st.text(max_size=20))
def test_no_text_begins_with_what_a_spreadsheet_runs(text: str) -> None:
    made = harmless(text)
    assert isinstance(made, str)
    assert not made.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert made in (text, f"'{text}")


def test_negative_numbers_stay_numbers() -> None:
    assert harmless(-2.6) == -2.6

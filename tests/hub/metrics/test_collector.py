"""Metrics as text, read back by the reference parser of OpenMetrics 1.0 in prometheus-client."""

import pytest
from prometheus_client import CollectorRegistry
from prometheus_client.metrics_core import Metric
from prometheus_client.openmetrics.exposition import generate_latest
from prometheus_client.openmetrics.parser import text_string_to_metric_families

from hub.metrics.collector import SnapshotCollector
from hub.metrics.node_families import NODE_FAMILIES, NODE_SUPPLY_FAMILIES
from hub.metrics.snapshot import Snapshot
from tests.hub.metrics.snapshots import full_telemetry, reading, snapshot
from tests.hub.played_node import telemetry

BASE_UNITS = {"seconds", "hertz", "celsius", "ratio", "amperes", "coulombs"}
"""Those of OpenMetrics 1.0, section 'Units and base units'; hertz is its dimension's SI unit."""


def parsed(taken: Snapshot) -> dict[str, Metric]:
    registry = CollectorRegistry(auto_describe=False)
    registry.register(SnapshotCollector(taken, "1.2.3"))
    text = generate_latest(registry).decode()  # type: ignore[no-untyped-call]
    return {family.name: family for family in text_string_to_metric_families(text)}  # type: ignore[no-untyped-call]


@pytest.fixture(scope="module")
def families() -> dict[str, Metric]:
    return parsed(snapshot(reading("bay-01", full_telemetry()), reading("bay-02", None)))


def values(family: Metric) -> dict[tuple[str, ...], float]:
    return {tuple(value for _, value in sorted(sample.labels.items())): sample.value for sample in family.samples}


def test_reference_parser_reads_every_family_with_its_type_and_unit(families: dict[str, Metric]) -> None:
    for each in (*NODE_FAMILIES, *NODE_SUPPLY_FAMILIES):
        prefix = "stringcourse_node_" if each in NODE_FAMILIES else "stringcourse_node_supply_"
        family = families[f"{prefix}{each.name}{'_' if each.unit else ''}{each.unit}"]
        assert (family.type, family.unit, family.documentation) == (each.kind, each.unit, each.meaning)
    assert {family.unit for family in families.values()} == {"", "dbm", *BASE_UNITS}
    assert {family.type for family in families.values()} == {"gauge", "counter", "info"}
    assert all(family.documentation.endswith(".") for family in families.values())


def test_figures_are_in_base_units(families: dict[str, Metric]) -> None:
    told = telemetry()
    one = ("bay-01", "arcade")
    assert values(families["stringcourse_node_render_time_seconds"]) == {one: told.render_ms / 1_000}
    assert values(families["stringcourse_node_clock_dispersion_seconds"]) == {
        one: pytest.approx((told.clock_dispersion_ms or 0) / 1_000)
    }
    assert values(families["stringcourse_node_heard_timestamp_seconds"])[one] == 1_700_000_000.5
    charge = values(families["stringcourse_node_supply_charge_coulombs"])
    assert charge == {("bay-01", "psu-1", "arcade"): pytest.approx(told.supplies[0].charge_ah * 3_600)}


def test_what_is_not_told_is_left_out_and_a_flag_is_0_or_1(families: dict[str, Metric]) -> None:
    assert values(families["stringcourse_node_online"]) == {("bay-01", "arcade"): 1.0, ("bay-02", "arcade"): 0.0}
    assert values(families["stringcourse_node_under_voltage"]) == {("bay-01", "arcade"): 1.0}
    assert values(families["stringcourse_node_disk_read_only"]) == {("bay-01", "arcade"): 0.0}
    assert values(families["stringcourse_node_disk_free_ratio"]) == {}


def test_hub_and_findings_are_counted(families: dict[str, Metric]) -> None:
    assert values(families["stringcourse_findings_open"]) == {("hot", "warning", "open", "arcade"): 2.0}
    assert values(families["stringcourse_messages_rejected"]) == {("malformed-telemetry",): 4.0}
    hub = [families[f"stringcourse_{name}"] for name in ("messages_dropped", "telemetry_stored", "telemetry_unstored")]
    assert [family.samples[0].value for family in hub] == [5.0, 1_000.0, 6.0]
    assert families["stringcourse_hub"].samples[0].labels == {"version": "1.2.3"}


def test_supplies_that_no_inventory_names_make_no_labels() -> None:
    told = full_telemetry()
    (known,) = told.supplies
    strange = tuple(known.model_copy(update={"supply": f"strange-{number}"}) for number in range(100))
    no_feed = known.model_copy(update={"supply": "no-feed"})
    flooded = told.model_copy(update={"supplies": (known, *strange, no_feed)})
    drawn = parsed(snapshot(reading("bay-01", flooded)))["stringcourse_node_supply_draw_amperes"]
    assert {sample.labels["supply"] for sample in drawn.samples} == {"psu-1", "no-feed"}

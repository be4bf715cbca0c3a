"""The hottest plausible thermal zone."""

from pathlib import Path

from node_agent.board_figures.temperature import temperature_c
from tests.node_agent.board_figures.trees import tree_of


def test_hottest_zone_counts_and_broken_sensors_do_not(tmp_path: Path) -> None:
    zone = "sys/class/thermal/thermal_zone"
    files = {f"{zone}0/temp": "48200\n", f"{zone}1/temp": "51750\n", f"{zone}2/temp": "-274000\n", f"{zone}3/temp": "?"}
    assert temperature_c(tree_of(tmp_path, files)) == 51.75
    assert temperature_c(tree_of(tmp_path / "bare", {})) is None

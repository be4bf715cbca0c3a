"""A processor that is slowed down: cooling devices, counts, firmware."""

from pathlib import Path

import pytest

from node_agent.board_figures.throttling import Throttling
from tests.node_agent.board_figures.test_under_voltage import FIRMWARE
from tests.node_agent.board_figures.trees import tree_of


def _cooling(kind: str, state: str) -> dict[str, str]:
    device = "sys/class/thermal/cooling_device0"
    return {f"{device}/type": f"{kind}\n", f"{device}/cur_state": f"{state}\n"}


@pytest.mark.parametrize(
    ("files", "told"),
    [
        ({}, None),
        (_cooling("cpufreq-cpu0", "0"), False),
        (_cooling("cpufreq-cpu0", "2"), True),
        (_cooling("thermal-cpufreq-0", "1"), True),
        (_cooling("Processor", "3"), True),
        (_cooling("pwm-fan", "4"), None),
        ({FIRMWARE: "e0000\n"}, False),
        ({FIRMWARE: "2\n"}, True),
        ({FIRMWARE: "1\n"}, False),
    ],
)
def test_slowed_processor_is_told_and_a_fan_is_not(tmp_path: Path, files: dict[str, str], told: bool | None) -> None:
    assert Throttling(tree_of(tmp_path, files)).read() is told


def test_count_tells_by_rising(tmp_path: Path) -> None:
    count = "sys/devices/system/cpu/cpu1/thermal_throttle/core_throttle_count"
    throttling = Throttling(tree_of(tmp_path, {count: "7\n"}))
    assert throttling.read() is False  # what was before the agent is no news
    tree_of(tmp_path, {count: "8\n"})
    assert throttling.read() is True
    assert throttling.read() is False

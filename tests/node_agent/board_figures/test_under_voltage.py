"""Under-voltage by the kernel's voltage monitors and by firmware."""

from pathlib import Path

import pytest

from node_agent.board_figures.under_voltage import under_voltage
from tests.node_agent.board_figures.trees import tree_of

FIRMWARE = "sys/devices/platform/soc/soc:firmware/get_throttled"


@pytest.mark.parametrize(
    ("files", "told"),
    [
        ({}, None),
        ({"sys/class/hwmon/hwmon0/in0_lcrit_alarm": "0\n"}, False),
        ({"sys/class/hwmon/hwmon0/in0_lcrit_alarm": "1\n"}, True),
        (
            {
                "sys/class/hwmon/hwmon0/in0_lcrit_alarm": "0\n",
                "sys/class/hwmon/hwmon3/in2_lcrit_alarm": "1\n",
            },
            True,
        ),
        ({"sys/class/hwmon/hwmon0/in0_min_alarm": "1\n", "sys/class/hwmon/hwmon0/temp1_crit_alarm": "1\n"}, None),
        ({FIRMWARE: "50005\n"}, True),
        ({FIRMWARE: "50000\n"}, False),
        ({FIRMWARE: "error\n"}, None),
    ],
)
def test_under_voltage_is_told_by_whoever_watches(tmp_path: Path, files: dict[str, str], told: bool | None) -> None:
    assert under_voltage(tree_of(tmp_path, files)) is told

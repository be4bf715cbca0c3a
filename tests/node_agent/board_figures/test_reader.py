"""All figures together, on a board that tells all and on one that tells nothing; errors and connections counted."""

import logging
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from node_agent.board_figures import BoardReader
from node_agent.store import Store
from schemas import BoardFigures
from tests.node_agent.board_figures.test_memory import MEMINFO
from tests.node_agent.board_figures.test_network_link import WIRELESS
from tests.node_agent.board_figures.test_under_voltage import FIRMWARE
from tests.node_agent.board_figures.trees import tree_of


def _reader(folder: Path, files: dict[str, str]) -> BoardReader:
    return BoardReader(Store(folder / "state"), folder / "state", tree_of(folder / "tree", files))


def test_board_that_tells_nothing_has_no_figures_but_its_disk(tmp_path: Path) -> None:
    figures = _reader(tmp_path, {}).read()
    untold = BoardFigures(starts=1, start_cause="first")
    assert figures.model_copy(update={"disk_free_share": None, "disk_read_only": None}) == untold
    assert figures.disk_read_only is False


def test_figures_of_a_board_on_the_radio(tmp_path: Path) -> None:
    reader = _reader(
        tmp_path,
        {
            "proc/meminfo": MEMINFO,
            "proc/net/ipv6_route": f"{'0' * 32} 00 {'0' * 32} 00 {'0' * 32} 00000400 1 0 00000003 wlan0\n",
            "proc/net/wireless": WIRELESS.format(level="-71."),
            "sys/class/net/wlan0/type": "1\n",
            "sys/class/net/wlan0/wireless/none": "",
            "sys/class/hwmon/hwmon1/in0_lcrit_alarm": "1\n",
            "sys/class/thermal/cooling_device0/type": "cpufreq-cpu0\n",
            "sys/class/thermal/cooling_device0/cur_state": "0\n",
        },
    )
    assert reader.read().link is None  # nobody knows yet which way the broker is
    reader.connected("2001:db8::7")
    figures = reader.read()
    assert (figures.memory_free_share, figures.under_voltage, figures.throttled) == (0.25, True, False)
    assert (figures.link, figures.signal_dbm, figures.link_mbit_per_s) == ("wireless", -71.0, None)


FILES = (
    "proc/meminfo",
    "proc/stat",
    "proc/net/route",
    "proc/net/wireless",
    "proc/sys/kernel/random/boot_id",
    "sys/class/net/wlan0/type",
    "sys/class/net/wlan0/speed",
    "sys/class/hwmon/hwmon0/in0_lcrit_alarm",
    "sys/class/thermal/thermal_zone0/temp",
    "sys/class/thermal/cooling_device0/type",
    "sys/class/thermal/cooling_device0/cur_state",
    "sys/devices/system/cpu/cpu0/thermal_throttle/core_throttle_count",
    FIRMWARE,
)
WORDS = st.sampled_from(
    ["-1", "0", "1", "99999999999999999999", "0x", "nan", "wlan0:", "MemTotal:", "cpu", "ffffffff", "\n"]
)
CONTENTS = st.lists(WORDS, max_size=12).map(" ".join) | st.text(st.characters(max_codepoint=255), max_size=30)


@settings(max_examples=50, deadline=None)
@given(st.dictionaries(st.sampled_from(FILES), CONTENTS))
def test_no_file_of_a_kernel_stops_telemetry(files: dict[str, str]) -> None:
    with TemporaryDirectory() as name:
        reader = _reader(Path(name), files)
        reader.connected("192.0.2.1")
        for _ in range(2):
            reader.read()
            reader.temperature_c()


def test_connections_after_the_first_are_counted(tmp_path: Path) -> None:
    reader = _reader(tmp_path, {})
    for _ in range(3):
        reader.connected("192.0.2.1")
    assert reader.read().reconnects == 2


def test_errors_that_the_agent_logs_are_counted_between_begin_and_end(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    reader = _reader(tmp_path, {})
    log = logging.getLogger("node_agent.somewhere")
    reader.begin()
    with caplog.at_level(logging.CRITICAL, logger="another"):
        log.warning("a warning")
        log.error("an error")
        logging.getLogger("another").error("not ours")
    reader.end()
    log.error("after the end")
    assert reader.read().errors == 1

"""Wire or radio, speed, signal."""

from pathlib import Path

import pytest

from node_agent.board_figures.network_link import NetworkLink, network_link
from tests.node_agent.board_figures.trees import tree_of

NET = "sys/class/net"
WIRELESS = """\
Inter-| sta-|   Quality        |   Discarded packets               | Missed | WE
 face | tus | link level noise |  nwid  crypt   frag  retry   misc | beacon | 22
 wlan0: 0000   44.  {level}  -256        0      0      0      0     77        0
"""


@pytest.mark.parametrize(("level", "dbm"), [("-66.", -66.0), ("-66", -66.0), ("54.", None), ("strong", None)])
def test_radio_has_a_signal(tmp_path: Path, level: str, dbm: float | None) -> None:
    files = {f"{NET}/wlan0/type": "1\n", f"{NET}/wlan0/phy80211/name": "phy0\n"}
    tree = tree_of(tmp_path, files | {"proc/net/wireless": WIRELESS.format(level=level)})
    assert network_link(tree, "wlan0") == NetworkLink("wireless", dbm, None)


@pytest.mark.parametrize(("speed", "mbit_per_s"), [("100\n", 100), ("-1\n", None), ("", None)])
def test_wire_has_a_speed(tmp_path: Path, speed: str, mbit_per_s: float | None) -> None:
    tree = tree_of(tmp_path, {f"{NET}/eth0/type": "1\n", f"{NET}/eth0/speed": speed})
    assert network_link(tree, "eth0") == NetworkLink("wired", None, mbit_per_s)


def test_loopback_is_no_link(tmp_path: Path) -> None:
    assert network_link(tree_of(tmp_path, {f"{NET}/lo/type": "772\n"}), "lo") is None
    assert network_link(tree_of(tmp_path, {}), "eth9") is None

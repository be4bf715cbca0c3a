"""The interface to the broker, from routing tables as little-endian boards show them."""

import sys
from pathlib import Path

import pytest

from node_agent.board_figures import Tree
from node_agent.board_figures.route import interface_to
from tests.node_agent.board_figures.trees import tree_of

IPV4 = """\
Iface\tDestination\tGateway\tFlags\tRefCnt\tUse\tMetric\tMask\tMTU\tWindow\tIRTT
wlan0\t00000000\t0102000A\t0003\t0\t0\t600\t00000000\t0\t0\t0
eth0\t00000000\t0102000A\t0003\t0\t0\t100\t00000000\t0\t0\t0
wlan0\t0002000A\t00000000\t0001\t0\t0\t600\t00FFFFFF\t0\t0\t0
eth1\t0003000A\t00000000\t0000\t0\t0\t0\t00FFFFFF\t0\t0\t0
broken line
"""
"""Two ways out of the house, 10.0.2.0/24 by radio, 10.0.3.0/24 by an interface that is down."""

IPV6 = """\
20010db8000000000000000000000000 20 00000000000000000000000000000000 00 00000000000000000000000000000000 00000100 \
00000001 00000000 00000001     eth0
20010db8000000010000000000000000 40 00000000000000000000000000000000 00 00000000000000000000000000000000 00000258 \
00000001 00000000 00000001    wlan0
00000000000000000000000000000000 00 00000000000000000000000000000000 00 00000000000000000000000000000000 ffffffff \
00000001 00000000 00200200       lo
"""


@pytest.fixture
def tree(tmp_path: Path) -> Tree:
    if sys.byteorder != "little":
        pytest.skip("the kernel shows these tables in the board's own order of bytes")
    return tree_of(tmp_path, {"proc/net/route": IPV4, "proc/net/ipv6_route": IPV6})


@pytest.mark.parametrize(
    ("address", "interface"),
    [
        ("10.0.2.40", "wlan0"),
        ("192.0.2.1", "eth0"),
        ("10.0.3.5", "eth0"),
        ("::ffff:10.0.2.40", "wlan0"),
        ("2001:db8:0:1::5", "wlan0"),
        ("2001:db8:7::5", "eth0"),
        ("fe80::1%eth0", None),
        ("127.0.0.1", None),
        ("::1", None),
        ("a broker", None),
    ],
)
def test_narrowest_route_leads_to_the_broker(tree: Tree, address: str, interface: str | None) -> None:
    assert interface_to(tree, address) == interface


def test_board_without_tables_has_no_route(tmp_path: Path) -> None:
    assert interface_to(Tree(tmp_path), "10.0.2.40") is None

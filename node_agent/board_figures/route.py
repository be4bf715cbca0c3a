"""By which network interface the board reaches an address, from the kernel's routing tables."""

import sys
from collections.abc import Iterator
from ipaddress import IPv4Network, IPv6Address, IPv6Network, ip_address
from typing import Final, NamedTuple

from node_agent.board_figures.tree import Tree

_UP: Final = 0x0001
_REJECT: Final = 0x0200


class _Route(NamedTuple):
    network: IPv4Network | IPv6Network
    metric: int
    flags: int
    interface: str


def interface_to(tree: Tree, address: str) -> str | None:
    """The interface of the narrowest route to an IPv4 or IPv6 address; of equals the one of the least metric."""
    try:
        wanted = ip_address(address.partition("%")[0])
    except ValueError:
        return None
    if isinstance(wanted, IPv6Address) and wanted.ipv4_mapped:
        wanted = wanted.ipv4_mapped
    if wanted.is_loopback:
        return None  # these tables do not have it
    routes = _ipv4_routes(tree) if wanted.version == 4 else _ipv6_routes(tree)
    fitting = [route for route in routes if route.flags & _UP and not route.flags & _REJECT and wanted in route.network]
    best = min(fitting, key=lambda route: (-route.network.prefixlen, route.metric), default=None)
    return best.interface if best else None


def _ipv4_routes(tree: Tree) -> Iterator[_Route]:
    """Columns: interface, destination, gateway, flags, references, use, metric, mask; numbers in the board's order."""
    for line in (tree.text("proc/net/route") or "").splitlines()[1:]:
        words = line.split()
        try:
            destination, mask = (int.from_bytes(bytes.fromhex(words[place]), sys.byteorder) for place in (1, 7))
            network = IPv4Network((destination, mask.bit_count()), strict=False)
            yield _Route(network, int(words[6]), int(words[3], 16), words[0])
        except (ValueError, IndexError):
            continue


def _ipv6_routes(tree: Tree) -> Iterator[_Route]:
    """Columns: destination, length, source, length, next hop, metric, references, use, flags, interface."""
    for line in (tree.text("proc/net/ipv6_route") or "").splitlines():
        words = line.split()
        try:
            network = IPv6Network((int(words[0], 16), int(words[1], 16)), strict=False)
            yield _Route(network, int(words[5], 16), int(words[8], 16), words[9])
        except (ValueError, IndexError):
            continue

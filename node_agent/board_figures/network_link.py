"""How the board hangs on its network: by wire or by radio, how fast, how strong."""

from dataclasses import dataclass
from typing import Final, Literal

from node_agent.board_figures.tree import Tree

_NET: Final = "sys/class/net"
_ETHERNET: Final = 1  # ARPHRD_ETHER: what wireless interfaces are, too


@dataclass(frozen=True, slots=True)
class NetworkLink:
    """Null is: not told."""

    kind: Literal["wired", "wireless"]
    signal_dbm: float | None
    mbit_per_s: float | None


def network_link(tree: Tree, interface: str) -> NetworkLink | None:
    """None for an interface that leads out of no board, such as the loopback."""
    if tree.number(f"{_NET}/{interface}/type") != _ETHERNET:
        return None
    about = tree.names(f"{_NET}/{interface}")
    if "wireless" in about or "phy80211" in about:
        return NetworkLink("wireless", _signal_dbm(tree, interface), None)
    speed = tree.number(f"{_NET}/{interface}/speed")
    return NetworkLink("wired", None, speed if speed is not None and 0 < speed <= 1_000_000 else None)


def _signal_dbm(tree: Tree, interface: str) -> float | None:
    """Level in /proc/net/wireless: columns status, link, level, noise. A level that is not negative is no dBm."""
    for line in (tree.text("proc/net/wireless") or "").splitlines():
        name, _, rest = line.partition(":")
        words = rest.split()
        if name.strip() == interface and len(words) > 2:
            try:
                level = float(words[2])
            except ValueError:
                return None
            return level if -200 <= level < 0 else None
    return None

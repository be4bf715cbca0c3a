"""How hot the board is, as the kernel tells it."""

from node_agent.board_figures.tree import Tree

_THERMAL = "sys/class/thermal"


def temperature_c(tree: Tree) -> float | None:
    """The hottest thermal zone, °C (the kernel gives thousandths); None on a board without any."""
    readings = [tree.number(f"{_THERMAL}/{zone}/temp") for zone in tree.names(_THERMAL, "thermal_zone")]
    plausible = [reading / 1_000 for reading in readings if reading is not None and -100_000 <= reading <= 300_000]
    return max(plausible, default=None)

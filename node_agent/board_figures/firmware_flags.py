"""The flags by which the firmware of some boards says that it had to step in."""

from enum import IntFlag
from typing import Final

from node_agent.board_figures.tree import Tree

_FLAGS: Final = "sys/devices/platform/soc/soc:firmware/get_throttled"  # path from memory


class FirmwareFlag(IntFlag):
    """What holds at this moment. Bits 16 to 19 say what ever happened since power came, which is no news."""

    UNDER_VOLTAGE = 1 << 0
    FREQUENCY_CAPPED = 1 << 1
    THROTTLED = 1 << 2
    WARM = 1 << 3


def firmware_flags(tree: Tree) -> FirmwareFlag | None:
    """None on a board whose firmware does not tell. The kernel gives hexadecimal digits without 0x."""
    try:
        return FirmwareFlag(int(tree.text(_FLAGS) or "", 16) & 0xF)
    except ValueError:
        return None

"""Whether the board's own supply is too low."""

from node_agent.board_figures.firmware_flags import FirmwareFlag, firmware_flags
from node_agent.board_figures.tree import Tree

_HWMON = "sys/class/hwmon"


def under_voltage(tree: Tree) -> bool | None:
    """By the critical-low alarms of the kernel's voltage monitors, and by the firmware; None where nobody watches.

    `inN_lcrit_alarm` of the kernel's hwmon interface. Not `inN_min_alarm`: its limits are often never set.
    """
    alarms = [
        tree.number(f"{_HWMON}/{monitor}/{name}")
        for monitor in tree.names(_HWMON)
        for name in tree.names(f"{_HWMON}/{monitor}", "in")
        if name.endswith("_lcrit_alarm")
    ]
    told = [alarm != 0 for alarm in alarms if alarm is not None]
    if (flags := firmware_flags(tree)) is not None:
        told.append(FirmwareFlag.UNDER_VOLTAGE in flags)
    return any(told) if told else None

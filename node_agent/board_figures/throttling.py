"""Whether the processor is slowed down against heat or want of power."""

from typing import Final

from node_agent.board_figures.firmware_flags import FirmwareFlag, firmware_flags
from node_agent.board_figures.tree import Tree

_THERMAL: Final = "sys/class/thermal"
_PROCESSORS: Final = "sys/devices/system/cpu"
_SLOWED: Final = FirmwareFlag.FREQUENCY_CAPPED | FirmwareFlag.THROTTLED | FirmwareFlag.WARM


class Throttling:
    """Asks the kernel's cooling devices, its counts of throttling, and the firmware; None where none of them tells."""

    def __init__(self, tree: Tree) -> None:
        self._tree = tree
        self._counts: dict[str, int] = {}

    def read(self) -> bool | None:
        told = [*self._cooling(), *self._counted()]
        if (flags := firmware_flags(self._tree)) is not None:
            told.append(bool(flags & _SLOWED))
        return any(told) if told else None

    def _cooling(self) -> list[bool]:
        """A cooling device's `cur_state` above 0 cools. Fans count for nothing: they slow nothing down."""
        states = [
            self._tree.number(f"{_THERMAL}/{device}/cur_state")
            for device in self._tree.names(_THERMAL, "cooling_device")
            if self._slows_down(self._tree.text(f"{_THERMAL}/{device}/type") or "")
        ]
        return [state > 0 for state in states if state is not None]

    @staticmethod
    def _slows_down(kind: str) -> bool:
        return "cpufreq" in kind or kind == "Processor"

    def _counted(self) -> list[bool]:
        """Whether a processor's count of throttling has risen since the reading before."""
        told = []
        for processor in self._tree.names(_PROCESSORS, "cpu"):
            count = self._tree.number(f"{_PROCESSORS}/{processor}/thermal_throttle/core_throttle_count")
            if count is not None:
                told.append(count > self._counts.get(processor, count))
                self._counts[processor] = count
        return told

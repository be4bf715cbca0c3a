"""The whole tree: every step, and where each symptom begins."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from hub.fault_finding.checking import tree_of
from hub.fault_finding.course import Tree
from hub.fault_finding.symptom import Symptom
from hub.fault_finding.tree import board, colours, dark_run, data_line, power, volts

BEGINS: Final[Mapping[Symptom, str]] = MappingProxyType(
    {symptom: f"{symptom.value}-heard" for symptom in Symptom if symptom.of_a_run}
    | {Symptom.SUPPLY_DARK: "supply-volts", Symptom.BOARD_SILENT: "silent-heard"}
)
TREE: Final[Tree] = tree_of(
    (*dark_run.STEPS, *colours.STEPS, *volts.STEPS, *data_line.STEPS, *power.STEPS, *board.STEPS), BEGINS
)

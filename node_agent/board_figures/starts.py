"""How often the agent has started on this board's disk, and why it runs anew this time."""

from typing import Annotated, Final, Protocol

from pydantic import Field

from node_agent.board_figures.tree import Tree
from schemas.contract import Contract
from schemas.messages import StartCause

_BOOT: Final = "proc/sys/kernel/random/boot_id"
_BOOT_CHARACTERS: Final = 64
_MOST_STARTS: Final = 2**53 - 1


class KeptStarts(Contract):
    """The newest start, as the disk knows it: number, boot of the system, and whether the agent ended in order."""

    starts: Annotated[int, Field(ge=1, le=_MOST_STARTS)]
    system_boot: Annotated[str, Field(max_length=_BOOT_CHARACTERS)] | None
    ended: bool


class StartsStore(Protocol):
    """What survives a power cut. `new`: the agent never wrote to this disk."""

    new: bool
    starts: KeptStarts | None

    def keep_starts(self, kept: KeptStarts) -> None: ...


def cause_of(before: KeptStarts | None, system_boot: str | None, *, new: bool) -> StartCause:
    """The kernel draws another boot id each time that the system starts."""
    if before is None:
        return "first" if new else "unknown"
    if system_boot is None or before.system_boot is None:
        return "unknown"
    if system_boot == before.system_boot:
        return "restart" if before.ended else "crash"
    return "reboot" if before.ended else "power"


class StartRecord:
    """This start. Two small writes: when it begins, and when it ends in order."""

    def __init__(self, store: StartsStore, tree: Tree) -> None:
        self._store = store
        self._system_boot = (tree.text(_BOOT) or "")[:_BOOT_CHARACTERS] or None
        before = store.starts
        self.number = min(before.starts + 1, _MOST_STARTS) if before else 1
        self.cause = cause_of(before, self._system_boot, new=store.new)

    def begin(self) -> None:
        self._keep(ended=False)

    def end(self) -> None:
        self._keep(ended=True)

    def _keep(self, *, ended: bool) -> None:
        self._store.keep_starts(KeptStarts(starts=self.number, system_boot=self._system_boot, ended=ended))

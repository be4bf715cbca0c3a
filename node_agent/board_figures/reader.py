"""All figures of the board, read when telemetry is due."""

from pathlib import Path

from node_agent.board_figures.disk import block_device_of, disk_room, worn_share
from node_agent.board_figures.logged_errors import LoggedErrors
from node_agent.board_figures.memory import memory_free_share
from node_agent.board_figures.network_link import network_link
from node_agent.board_figures.processor import ProcessorShare
from node_agent.board_figures.route import interface_to
from node_agent.board_figures.starts import StartRecord, StartsStore
from node_agent.board_figures.temperature import temperature_c
from node_agent.board_figures.throttling import Throttling
from node_agent.board_figures.tree import Tree
from node_agent.board_figures.under_voltage import under_voltage
from schemas import BoardFigures


class BoardReader:
    """Called by the agent's one thread. `folder` is on the disk that holds the agent's state."""

    def __init__(self, store: StartsStore, folder: Path, tree: Tree) -> None:
        self._tree = tree
        self._folder = folder
        self._start = StartRecord(store, self._tree)
        self._errors = LoggedErrors()
        self._processor = ProcessorShare(self._tree)
        self._throttling = Throttling(self._tree)
        self._block_device = block_device_of(folder)
        self._interface: str | None = None
        self._connections = 0

    def begin(self) -> None:
        self._errors.begin()
        self._start.begin()

    def end(self) -> None:
        """In order."""
        self._start.end()
        self._errors.end()

    def connected(self, broker_address: str | None) -> None:
        """Remembers by which interface."""
        self._connections += 1
        self._interface = interface_to(self._tree, broker_address) if broker_address else None

    def temperature_c(self) -> float | None:
        return temperature_c(self._tree)

    def read(self) -> BoardFigures:
        """About twenty small files and no wait for any device."""
        tree = self._tree
        room = disk_room(self._folder)
        link = network_link(tree, self._interface) if self._interface else None
        return BoardFigures(
            starts=self._start.number,
            start_cause=self._start.cause,
            errors=self._errors.count,
            processor_share=_rounded(self._processor.read()),
            memory_free_share=_rounded(memory_free_share(tree)),
            disk_free_share=_rounded(room.free_share) if room else None,
            disk_worn_share=worn_share(tree, self._block_device) if self._block_device else None,
            disk_read_only=room.read_only if room else None,
            under_voltage=under_voltage(tree),
            throttled=self._throttling.read(),
            link=link.kind if link else None,
            signal_dbm=link.signal_dbm if link else None,
            link_mbit_per_s=link.mbit_per_s if link else None,
            reconnects=max(self._connections - 1, 0),
        )


def _rounded(share: float | None) -> float | None:
    return None if share is None else round(share, 3)

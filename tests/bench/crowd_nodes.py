"""The crowd of `tests.bench.crowd`, outside its process: the agent itself, many times, without pixels.

Each node is the product's agent with its own credential, state directory, connection and show clock. Only the frame
loop is another: it keeps takes and begins them when the node's own clock says so, one thread for all of a process. They
live in several processes, since threads that wait for one interpreter wake each other up. One line of JSON on standard
output for each revision that the last node of a process has begun.
"""

import argparse
import contextlib
import gc
import heapq
import json
import logging
import os
import sys
import threading
import time
from collections import defaultdict
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Final, NamedTuple

from hub.parent_death import END_WITH_PARENT
from node_agent.agent import Agent
from node_agent.board import Board, RehearsalBoard
from node_agent.clock import ShowClock
from node_agent.frame_figures import FrameFigures
from node_agent.inbox import Stopping, Taken
from node_agent.overlay import Overlay
from node_agent.prepared import PreparedRevision
from node_agent.store import Store
from schemas import Grant, NodeCredential

IN_A_PROCESS: Final = 50
STARTS_A_SECOND: Final = 50
EARLY_S: Final = 0.003
"""So long before a take the thread of the takes no longer sleeps but watches the clocks."""


READINGS: Final = 20
TOGETHER_S: Final = 0.0002


class Begun(NamedTuple):
    """A take that a node began: when by the machine's one clock, and when its own clock, read exactly, meant it."""

    at_s: float
    meant_s: float


class Takes:
    """All the takes that lie ahead, of every node of this process."""

    def __init__(self, nodes: int) -> None:
        self._nodes = nodes
        self._changed = threading.Condition()
        self._ahead: list[tuple[float, int, TakesOnly, PreparedRevision]] = []
        self._number = 0
        self._begun: dict[int, list[Begun]] = defaultdict(list)
        threading.Thread(target=self._run, name="takes", daemon=True).start()

    def put(self, frames: "TakesOnly", prepared: PreparedRevision, at_s: float) -> None:
        with self._changed:
            self._number += 1
            due_s = time.monotonic() + at_s - frames.clock.show_s()
            heapq.heappush(self._ahead, (due_s, self._number, frames, prepared))
            self._changed.notify()

    def _run(self) -> None:
        with contextlib.suppress(PermissionError):  # a board would have a processor of its own for this
            os.setpriority(os.PRIO_PROCESS, threading.get_native_id(), -20)
        while True:
            with self._changed:
                while not self._ahead or self._ahead[0][0] > time.monotonic() + EARLY_S:
                    wait_s = self._ahead[0][0] - time.monotonic() - EARLY_S if self._ahead else None
                    self._changed.wait(wait_s)
                due: list[tuple[TakesOnly, PreparedRevision]] = []
                while self._ahead and self._ahead[0][0] <= time.monotonic() + EARLY_S:
                    due.append(heapq.heappop(self._ahead)[2:])
            self._begin(due)

    def _begin(self, due: list[tuple["TakesOnly", PreparedRevision]]) -> None:
        told: list[Callable[[], None]] = []
        while due:
            later: list[tuple[TakesOnly, PreparedRevision]] = []
            for frames, prepared in due:
                if (at_s := frames.ahead(prepared)) is None:
                    continue  # called off, or another came in its place
                true_s, show_s = read_together(frames.clock)
                if at_s - show_s > EARLY_S:
                    self.put(frames, prepared, at_s)  # the node's clock was set back meanwhile
                    continue
                if show_s < at_s:
                    later.append((frames, prepared))
                    continue
                self._begun[prepared.revision].append(Begun(true_s, true_s + at_s - show_s))
                told.append(partial(frames.begun, prepared, show_s))
            due = later
        for tell in told:
            tell()
        for revision, begun in list(self._begun.items()):
            if len(begun) == self._nodes:
                say({"revision": revision, "begun": self._begun.pop(revision)})


def read_together(clock: ShowClock) -> tuple[float, float]:
    """The machine's clock and a node's, at one instant: read anew where another thread came between."""
    for _ in range(READINGS):
        before_s = time.time()
        show_s = clock.show_s()
        after_s = time.time()
        if after_s - before_s < TOGETHER_S:
            break
    return (before_s + after_s) / 2, show_s


class TakesOnly:
    """What the agent has in place of the frame loop. Every grant counts as obeyed: there is nothing to limit."""

    def __init__(
        self,
        takes: Takes,
        clock: ShowClock,
        board: Board,  # noqa: ARG002 (of no use without outputs)
        on_taken: Callable[[Taken], None],
        on_wires: Callable[[int], None],
    ) -> None:
        self.clock = clock
        self.figures = FrameFigures()
        self._takes = takes
        self._on_taken = on_taken
        self._on_wires = on_wires
        self._coming: tuple[PreparedRevision, float] | None = None

    @property
    def period_s(self) -> float | None:
        return None

    def start(self, prepared: PreparedRevision | None = None, taken_at_s: float = 0.0) -> None:
        """The crowd begins with empty state directories."""

    def take(self, prepared: PreparedRevision, at_s: float, fade_s: float) -> None:  # noqa: ARG002
        self._coming = prepared, at_s
        self._takes.put(self, prepared, at_s)

    def cancel_take(self) -> None:
        self._coming = None

    def obey(self, grant: Grant) -> None:
        self._on_wires(grant.number)

    def overlay(self, overlay: Overlay) -> None:
        """Nothing shows."""

    def stop(self) -> None:
        """Nothing shows."""

    def ahead(self, prepared: PreparedRevision) -> float | None:
        """The show time of its take, if it is still to come."""
        coming = self._coming
        return coming[1] if coming is not None and coming[0] is prepared else None

    def begun(self, prepared: PreparedRevision, show_s: float) -> None:
        self._coming = None
        self._on_taken(Taken(prepared.revision, prepared.shown(show_s), show_s))


def say(words: dict[str, object]) -> None:
    """In one piece, as other processes write to the same pipe."""
    os.write(1, json.dumps(words).encode() + b"\n")


def _wait_for_the_end(over: threading.Event) -> None:
    while os.read(0, 1):
        pass
    over.set()


def run_part(credentials: list[NodeCredential], state: Path, gap_s: float) -> None:
    """Some nodes, one begun after another, until standard input is closed."""
    threading.stack_size(512 * 1024)
    takes = Takes(len(credentials))
    agents: list[Agent] = []
    threads: list[threading.Thread] = []
    over = threading.Event()
    threading.Thread(target=_wait_for_the_end, args=(over,), daemon=True).start()
    for credential in credentials:
        folder = state / credential.node
        agent = Agent(credential, Store(folder), RehearsalBoard(folder), make_frames=partial(TakesOnly, takes))
        agents.append(agent)
        threads.append(threading.Thread(target=agent.run, name=credential.node))
        threads[-1].start()
        if over.wait(gap_s):
            break
    over.wait()
    for agent in agents:
        agent.inbox.put(Stopping("the benchmark is over"))
    for thread in threads:
        thread.join()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--credentials", type=Path, required=True, help="a line of JSON for each node")
    parser.add_argument("--state", type=Path, required=True, help="a folder for all state directories")
    arguments = parser.parse_args()
    logging.basicConfig(level=logging.ERROR, stream=sys.stderr)
    nodes = [NodeCredential.model_validate_json(line) for line in arguments.credentials.read_text("utf-8").splitlines()]
    parts = [nodes[first : first + IN_A_PROCESS] for first in range(0, len(nodes), IN_A_PROCESS)]
    gc.freeze()  # shared by all that are forked
    children: list[int] = []
    for part in parts:
        if (child := os.fork()) == 0:
            if END_WITH_PARENT is not None:
                END_WITH_PARENT()
            run_part(part, arguments.state, len(parts) / STARTS_A_SECOND)
            return
        children.append(child)
    for child in children:
        os.waitpid(child, 0)


if __name__ == "__main__":
    main()

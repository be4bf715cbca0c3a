"""The crowd of `tests.bench.crowd`, outside its process: the agent itself, many times, without pixels.

Each node is the product's agent with its own credential, state directory, connection and show clock. In place of
threads of its own it shares one event loop with the other nodes of its process: a thousand boards have a thousand
processors, this machine has few. In place of the frame loop stands one that only keeps takes, and begins them when the
node's own clock says so. One line of JSON on standard output for each revision that the last node of a process begins.
"""

import argparse
import asyncio
import gc
import json
import logging
import os
import sys
import time
from collections import defaultdict
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Final, NamedTuple

from hub.parent_death import END_WITH_PARENT
from node_agent.agent import Agent
from node_agent.board import Board, RehearsalBoard
from node_agent.board_figures import Tree
from node_agent.clock import ShowClock
from node_agent.frame_figures import FrameFigures
from node_agent.inbox import Taken
from node_agent.overlay import Overlay
from node_agent.prepared import PreparedRevision
from node_agent.store import Store
from schemas import Grant, NodeCredential
from tests.bench.crowd_link import LoopLink

PROCESSES: Final = 2
STARTS_A_SECOND: Final = 50
EARLY_S: Final = 0.04
"""So long before a take the process does nothing else: a board has a thread for its frames, and its own processor."""

WATCHED_S: Final = 0.0005
"""The last of it is watched, since a sleep ends late."""


LONGEST_WAIT_S: Final = 5.0
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
        self._loop = asyncio.get_running_loop()
        self._ahead: list[tuple[TakesOnly, PreparedRevision]] = []
        self._next: asyncio.TimerHandle | None = None
        self._begun: dict[int, list[Begun]] = defaultdict(list)

    def put(self, frames: "TakesOnly", prepared: PreparedRevision, at_s: float) -> None:
        self._ahead.append((frames, prepared))
        self._look_at(self._loop.time() + at_s - frames.clock.show_s() - EARLY_S)

    def _look_at(self, due_s: float) -> None:
        if self._next is None or self._next.cancelled() or due_s < self._next.when():
            if self._next is not None:
                self._next.cancel()
            self._next = self._loop.call_at(due_s, self._look)

    def _look(self) -> None:
        self._next = None
        ahead, self._ahead = self._ahead, []
        due: list[tuple[TakesOnly, PreparedRevision]] = []
        for frames, prepared in ahead:
            at_s = frames.ahead(prepared)
            if at_s is None:
                continue  # called off, or another came in its place
            if at_s - frames.clock.show_s() <= EARLY_S:
                due.append((frames, prepared))
            else:
                self.put(frames, prepared, at_s)
        self._begin(due)

    def _begin(self, due: list[tuple["TakesOnly", PreparedRevision]]) -> None:
        told: list[Callable[[], None]] = []
        while due:
            later: list[tuple[TakesOnly, PreparedRevision]] = []
            nearest_s = EARLY_S
            for frames, prepared in due:
                if (at_s := frames.ahead(prepared)) is None:
                    continue
                true_s, show_s = read_together(frames.clock)
                if at_s - show_s > EARLY_S:
                    self.put(frames, prepared, at_s)  # the node's clock was set back meanwhile
                    continue
                if show_s < at_s:
                    later.append((frames, prepared))
                    nearest_s = min(nearest_s, at_s - show_s)
                    continue
                self._begun[prepared.revision].append(Begun(true_s, true_s + at_s - show_s))
                told.append(partial(frames.begun, prepared, show_s))
            due = later
            if due and nearest_s > WATCHED_S:
                time.sleep(nearest_s - WATCHED_S)
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
        wake: Callable[[], None],
        clock: ShowClock,
        board: Board,  # noqa: ARG002 (of no use without outputs)
        on_taken: Callable[[Taken], None],
        on_wires: Callable[[int], None],
    ) -> None:
        self.clock = clock
        self.figures = FrameFigures()
        self._takes = takes
        self._wake = wake
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
        self._wake()


class SteppedAgent:
    """An agent that is stepped on the event loop when something came in, or when it has something to say."""

    def __init__(self, credential: NodeCredential, folder: Path, takes: Takes) -> None:
        self._loop = asyncio.get_running_loop()
        self._next: asyncio.Handle | None = None
        self._agent = Agent(
            credential,
            Store(folder),
            RehearsalBoard(folder, system=Tree(folder)),  # each board reads its own system's files, not all one's
            make_frames=partial(TakesOnly, takes, self.wake),
            make_link=partial(LoopLink, self.wake),
        )

    def start(self) -> None:
        self._agent.start()
        self._step()

    def wake(self) -> None:
        if isinstance(self._next, asyncio.TimerHandle):
            self._next.cancel()
            self._next = None
        if self._next is None:
            self._next = self._loop.call_soon(self._step)

    def _step(self) -> None:
        self._next = None
        self._agent.step(0.0)
        if not self._agent.inbox.empty:
            self.wake()  # after the others have had their turn
        elif self._next is None:
            wait_s = min(self._agent.due_s - time.monotonic(), LONGEST_WAIT_S)
            self._next = self._loop.call_later(max(wait_s, 0.0), self._step)


def say(words: dict[str, object]) -> None:
    """In one piece, as other processes write to the same pipe."""
    os.write(1, json.dumps(words).encode() + b"\n")


async def run_part(credentials: list[NodeCredential], state: Path, gap_s: float) -> None:
    """Some nodes, one begun after another, until standard input is closed."""
    over = asyncio.Event()

    def heard() -> None:
        if not os.read(0, 1):
            over.set()

    asyncio.get_running_loop().add_reader(0, heard)
    takes = Takes(len(credentials))
    agents: list[SteppedAgent] = []
    for credential in credentials:
        agents.append(SteppedAgent(credential, state / credential.node, takes))
        agents[-1].start()
        await asyncio.sleep(gap_s)
    gc.freeze()  # a full collection over hundreds of boards takes a tenth of a second; over one board it is nothing
    await over.wait()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--credentials", type=Path, required=True, help="a line of JSON for each node")
    parser.add_argument("--state", type=Path, required=True, help="a folder for all state directories")
    arguments = parser.parse_args()
    logging.basicConfig(level=logging.ERROR, stream=sys.stderr)
    nodes = [NodeCredential.model_validate_json(line) for line in arguments.credentials.read_text("utf-8").splitlines()]
    parts = [part for first in range(PROCESSES) if (part := nodes[first::PROCESSES])]
    gc.freeze()  # shared by all that are forked
    children: list[int] = []
    for part in parts:
        if (child := os.fork()) == 0:
            if END_WITH_PARENT is not None:
                END_WITH_PARENT()
            asyncio.run(run_part(part, arguments.state, len(parts) / STARTS_A_SECOND))
            return
        children.append(child)
    for child in children:
        os.waitpid(child, 0)


if __name__ == "__main__":
    main()

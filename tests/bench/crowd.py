"""A thousand nodes on this machine, each the product's agent without pixels, under a whole running hub: how soon a
scene is staged on all of them, and how closely together they begin it.

Every node has its own credential, connection, state directory and show clock, which it sets by its own exchanges with
the hub. It begins when that clock reaches the take's show time; when that was is read off the machine's one clock, once
as carried out by some processes that share this machine's processors, and once as the clocks alone meant it. Loopback
only; ends by itself.
"""

import argparse
import json
import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from pydantic import TypeAdapter

from hub.running import RunningHub
from hub.settings import Settings
from schemas import Scene, Venue
from tests.bench.line import print_line
from tests.bench.take import NodesProcess, bare_exchange, ended, venue_of
from tests.bench.telling_process import TellingProcess
from tests.brokers import hub_account
from tests.nats_broker import NatsServer
from tests.processes import wait_until

VENUE: Final = "bench"
SCENES: Final = ("first", "second")
MOST_NODES: Final = 5_000
DEADLINE_S: Final = 180.0
STAGED_TARGET_S: Final = 5.0
SKEW_TARGET_MS: Final = 10.0
SETTLED_MS: Final = 10.0
LONGEST_SETTLING_S: Final = 60.0


@dataclass(frozen=True, slots=True)
class Exchange:
    """One take: seconds until all had staged; when each node began, as carried out and as meant, in seconds."""

    staged_s: float
    begun_s: list[float]
    meant_s: list[float]


class Crowd(TellingProcess):
    """The nodes, `tests.bench.crowd_nodes`."""

    def __init__(self, hub: RunningHub, nodes: list[str], folder: Path) -> None:
        self._nodes = len(nodes)
        credentials = folder / "credentials.jsonl"
        credentials.touch(mode=0o600)
        issued = [hub.hub.credentials.issue(VENUE, node) for node in nodes]
        credentials.write_text("\n".join(one.model_dump_json() for one in issued), encoding="utf-8")
        super().__init__(
            "tests.bench.crowd_nodes", ["--credentials", str(credentials), "--state", str(folder / "state")]
        )

    def begun(self, revision: int) -> list[tuple[float, float]]:
        """(carried out, meant) of every node, once all have begun this revision."""
        begun: list[tuple[float, float]] = []
        while len(begun) < self._nodes:
            line = self.line(DEADLINE_S)
            if line["revision"] == revision:
                begun += [(at_s, meant_s) for at_s, meant_s in line["begun"]]
        return begun


def crowds_venue(nodes: int) -> Venue:
    """Its scenes stand still: whether a moving one flashes would be checked over all its pixels first."""
    still = [{"zone": "band", "pattern": {"pattern": "wash", "colour": "#803010"}}]
    scenes = [{"id": name, "title": name.title(), "layers": still * layers} for layers, name in enumerate(SCENES, 1)]
    read = TypeAdapter(tuple[Scene, ...]).validate_json(json.dumps(scenes))
    return venue_of(nodes).model_copy(update={"scenes": read})


@contextmanager
def running_hub(folder: Path) -> Iterator[RunningHub]:
    hub = RunningHub(Settings(data_dir=folder, broker_port=0))
    hub.start()
    try:
        yield hub
    finally:
        hub.end_streams()
        hub.stop()


def exchange(hub: RunningHub, crowd: Crowd, scene: str) -> Exchange:
    """Take a scene, once everything about the take before is over."""
    rollouts = hub.hub.rollouts
    wait_until(lambda: rollouts.idle(VENUE), DEADLINE_S, "the take before to be over")
    began_s = time.perf_counter()
    revision = rollouts.take(VENUE, scene, 0).revision
    ended(rollouts, revision)
    staged_s = time.perf_counter() - began_s
    tell(f"revision {revision} staged in {staged_s:.2f} s")
    begun = crowd.begun(revision)
    return Exchange(staged_s, [at_s for at_s, _ in begun], [meant_s for _, meant_s in begun])


def clocks_are_set(hub: RunningHub, nodes: int) -> None:
    """Waits until every node says that its clock is right to `SETTLED_MS`, but not for ever."""
    began_s = time.monotonic()

    def right() -> int:
        states = hub.hub.node_views.states(VENUE)
        return sum(one.clock_dispersion_ms is not None and one.clock_dispersion_ms < SETTLED_MS for one in states)

    while (found := right()) < nodes and time.monotonic() < began_s + LONGEST_SETTLING_S:
        time.sleep(1.0)  # the hub must not be slowed down by being watched
    tell(f"{found} clocks were right to {SETTLED_MS} ms {time.monotonic() - began_s:.1f} s after all nodes were heard")


def bare(nodes: int, takes: int, folder: Path) -> tuple[float, float]:
    """Medians of the same exchange between bare clients: seconds until staged, ms from first node to last that has
    the take's message."""
    venue = venue_of(nodes)
    with ExitStack() as parts:
        broker = NatsServer(folder, [hub_account()])
        parts.callback(broker.stop)
        broker.start()
        fleet = NodesProcess(broker, nodes)
        parts.callback(fleet.stop)
        fleet.said("connected", nodes)
        staged_s: list[float] = []
        spread_ms: list[float] = []
        for revision in range(1, takes + 1):
            staged_s.append(bare_exchange(broker, venue, revision))
            came = fleet.said("revision", revision)
            spread_ms.append((came["last_s"] - came["first_s"]) * 1_000)
    return statistics.median(staged_s), statistics.median(spread_ms)


def skews_ms(begun_s: list[float]) -> list[float]:
    """How far each node is from the median of its take, ascending, in ms."""
    middle_s = statistics.median(begun_s)
    return sorted(abs(one - middle_s) * 1_000 for one in begun_s)


def share(ascending: list[float], part: float) -> float:
    """The value that `part` of them do not exceed."""
    return ascending[min(len(ascending) - 1, int(part * len(ascending)))]


def report(takes: list[Exchange], nodes: int, bare_staged_s: float, bare_spread_ms: float) -> None:
    print_line(
        bench="crowd", figure=f"staged on {nodes} nodes, the slowest of {len(takes)} takes", unit="s",
        value=max(one.staged_s for one in takes), baseline=bare_staged_s,
        baseline_is="bare MQTT clients that are told documents of the same kind and answer", target=STAGED_TARGET_S,
    )  # fmt: skip
    as_carried_out = sorted(skew for one in takes for skew in skews_ms(one.begun_s))
    by_clocks = sorted(skew for one in takes for skew in skews_ms(one.meant_s))
    baseline_is = "first to last of bare clients that begin when the take's message comes"
    for name, skews in (("as carried out", as_carried_out), ("by the nodes' clocks", by_clocks)):
        for part in (0.5, 0.9, 0.99, 1.0):
            of = "the last" if part == 1 else f"share {part:g}"
            print_line(
                bench="crowd", figure=f"start skew from the median {name}, {of} of {len(skews)} starts", unit="ms",
                value=share(skews, part), baseline=bare_spread_ms, baseline_is=baseline_is, target=SKEW_TARGET_MS,
            )  # fmt: skip


def tell(words: str) -> None:
    """To people who wait."""
    print(words, file=sys.stderr, flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--nodes", type=int, default=1_000)
    parser.add_argument("--takes", type=int, default=5)
    arguments = parser.parse_args()
    nodes: int = arguments.nodes
    if not 1 <= nodes <= MOST_NODES:
        parser.error(f"--nodes: 1 to {MOST_NODES}")
    if not 1 <= arguments.takes <= 100:
        parser.error("--takes: 1 to 100")
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (max(soft, min(hard, 4 * nodes + 1_000)), hard))
    memory = Path("/dev/shm")  # noqa: S108 (a thousand boards have a thousand cards; this machine has one disk)
    with tempfile.TemporaryDirectory(dir=memory if memory.is_dir() else None) as name, ExitStack() as parts:
        folder = Path(name)
        bare_staged_s, bare_spread_ms = bare(nodes, arguments.takes, folder / "bare")
        hub = parts.enter_context(running_hub(folder / "hub"))
        venue = crowds_venue(nodes)
        hub.hub.inventory.load(venue)
        crowd = Crowd(hub, [node.id for node in venue.nodes], folder)
        parts.callback(crowd.stop)
        tell(f"the nodes have their credentials, and begin; bare clients staged in {bare_staged_s:.2f} s")
        wait_until(
            lambda: all(one.online for one in hub.hub.node_views.states(VENUE)), DEADLINE_S, "every node to be heard"
        )
        wait_until(lambda: hub.hub.rollouts.in_force(VENUE) is not None, DEADLINE_S, "the opening scene")
        clocks_are_set(hub, nodes)
        takes = [exchange(hub, crowd, SCENES[(number + 1) % 2]) for number in range(arguments.takes)]
    report(takes, nodes, bare_staged_s, bare_spread_ms)


if __name__ == "__main__":
    main()

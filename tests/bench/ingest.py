"""Telemetry into the hub: messages a second decoded, validated, evaluated and stored; memory; a flood.

Baseline: a bare paho subscriber that only counts, on the same broker in the same run. The hub is whole but for its API:
every listener, with SQLite on disk. Both run alone in a process of their own while a third sends the same messages as
fast as the broker takes them; the median of the rounds counts. A message that the hub drops is not counted as ingested.

    python -m tests.bench.ingest [--load-minutes 10]
"""

import argparse
import statistics
import tempfile
import time
from contextlib import ExitStack
from operator import attrgetter
from pathlib import Path
from typing import NamedTuple

from hub.fleet.inbox import MAX_MESSAGES
from tests.bench.ingest_flood import NODES, Fleet, Place, connect, node_name, uptime_s
from tests.bench.ingest_subjects import Standing, Subject, Through, run_bare, run_hub
from tests.bench.line import print_line
from tests.bench.take import NodesProcess
from tests.brokers import hub_account
from tests.nats_broker import NatsServer

ROUNDS = 3
MESSAGES = 60_000  # within what the broker holds for a subscriber that is slower than the sender
TARGET_RATIO = 0.5
AHEAD = 20_000
"""At full load the hub always has messages waiting, and the broker never holds more than it can."""

STUCK_S = 10.0
FLAT_MIB = 16.0
OVERLOAD = 10
"""Times the messages of a round, as fast as the broker takes them."""

FLOOD_MIB = 384.0
"""What is read ahead, twice as it is thinned out, and what waits: 64 MiB each, as objects twice that."""


class Bench:
    """A broker, a fleet that shows what the hub tells it, and what is sent in its name."""

    def __init__(self, parts: ExitStack) -> None:
        self._parts = parts
        self.folder = Path(parts.enter_context(tempfile.TemporaryDirectory()))
        account = hub_account()
        broker = NatsServer(self.folder / "broker", [account])
        broker.start()
        parts.callback(broker.stop)
        self.place = Place(broker.host, broker.port, account.secret)
        self._nodes = NodesProcess(broker, NODES)
        parts.callback(self._nodes.stop)
        self._nodes.said("connected", NODES)
        self._fleet = Fleet()
        self._sent_rounds = 0

    def hub(self) -> Subject:
        return Subject(run_hub, self.place, self.folder / "hub")

    def bare(self) -> Subject:
        return Subject(run_bare, self.place, MESSAGES)

    def packets(self, rounds: int) -> bytes:
        """The next rounds of every node: their sequence goes on from one subject to the next."""
        self._sent_rounds += rounds
        return self._fleet.rounds(self._sent_rounds - rounds, rounds)

    def newest(self) -> dict[str, float]:
        """What each node said last."""
        return {node_name(number): uptime_s(self._sent_rounds - 1) for number in range(NODES)}


def rate(bench: Bench, subject: Subject, question: object) -> Through:
    """How a subject gets the messages through that are sent as fast as the broker takes them."""
    with subject, connect(bench.place) as sender:
        assert subject.answer() == "ready"
        packets = bench.packets(MESSAGES // NODES)
        subject.tell(question)
        sender.sendall(packets)
        through: Through = subject.answer()
    return through


def full_load(bench: Bench, minutes: float) -> list[Standing]:
    """What a hub holds, once a second, while it always has messages waiting."""
    held: list[Standing] = []
    with bench.hub() as hub, connect(bench.place) as sender:
        assert hub.answer() == "ready"
        first, sent = hub.ask("standing"), 0
        sent_s = next_s = time.monotonic()
        end_s = sent_s + 60 * minutes
        while time.monotonic() < end_s:
            standing = hub.ask("standing")
            if standing.seen - first.seen > sent - AHEAD:
                sender.sendall(bench.packets(10))
                sent += 10 * NODES
                sent_s = time.monotonic()
            else:
                assert time.monotonic() < sent_s + STUCK_S, f"the hub saw {standing.seen - first.seen} of {sent}"
                time.sleep(0.01)  # paced by what the hub has seen
            if time.monotonic() >= next_s:
                held.append(standing)
                next_s += 1.0
    return held


class Flood(NamedTuple):
    """What became of a flood: messages sent and at what rate, seen and dropped, what the hub held, who is right."""

    sent: int
    sent_per_s: float
    seen: int
    dropped: int
    most_waiting: int
    resident_before_mib: float
    most_resident_mib: float
    nodes_right: int


def flood(bench: Bench, messages: int) -> Flood:
    """As fast as the broker takes them; the last round is what the hub must know in the end."""
    with bench.hub() as hub, connect(bench.place) as sender:
        assert hub.answer() == "ready"
        before = hub.ask("standing")
        held, sent, began_s = [before], 0, time.monotonic()
        while sent < messages:
            sender.sendall(bench.packets(10))
            sent += 10 * NODES
            held.append(hub.ask("standing"))
        lasted_s = time.monotonic() - began_s
        news_s = time.monotonic()
        while held[-1].seen - before.seen < sent and time.monotonic() < news_s + STUCK_S:
            time.sleep(0.1)  # paced by what the hub has seen
            held.append(hub.ask("standing"))
            if held[-1].seen != held[-2].seen:
                news_s = time.monotonic()
        told: dict[str, float] = hub.ask("newest")
    newest = bench.newest()
    return Flood(
        sent,
        sent / lasted_s,
        held[-1].seen - before.seen,
        held[-1].dropped - before.dropped,
        max(one.waiting for one in held),
        before.resident_mib,
        max(one.resident_mib for one in held),
        sum(told.get(node) == uptime for node, uptime in newest.items()),
    )


def print_rate(bare: list[Through], hub: list[Through]) -> None:
    """By wall clock, and by processor time, which other programs on the machine disturb less."""
    by_wall, by_processor = (
        [statistics.median(one.messages / seconds(one) for one in side) for side in (bare, hub)]
        for seconds in (attrgetter("wall_s"), attrgetter("processor_s"))
    )
    baseline_is = f"bare paho subscriber that counts, same broker, same run; medians of {ROUNDS}"
    for figure, unit, (baseline, value) in (
        ("telemetry decoded, validated, evaluated and stored", "messages/s", by_wall),
        ("the same by the process's own time", "messages/s of processor time", by_processor),
    ):
        print_line(
            bench="ingest", figure=figure, unit=unit, value=value, baseline=baseline, baseline_is=baseline_is,
            target=TARGET_RATIO * baseline, at_most=False,
        )  # fmt: skip


def print_flood(result: Flood) -> None:
    about = f"after {result.sent} messages, sent at {result.sent_per_s:.0f}/s"
    print_line(
        bench="ingest", figure=f"nodes whose state is the newest that was sent, {about}", unit="nodes",
        value=result.nodes_right, baseline=NODES, baseline_is="nodes", target=NODES, at_most=False,
    )  # fmt: skip
    print_line(
        bench="ingest", figure=f"messages seen, stored or counted as dropped ({result.dropped}), {about}",
        unit="messages", value=result.seen, baseline=result.sent, baseline_is="messages sent", target=result.sent,
        at_most=False,
    )  # fmt: skip
    print_line(
        bench="ingest", figure="messages waiting at most, in the flood", unit="messages", value=result.most_waiting,
        baseline=MAX_MESSAGES, baseline_is="bound of the queue, beside one of each topic",
        target=MAX_MESSAGES + 4 * NODES,
    )  # fmt: skip
    print_line(
        bench="ingest", figure="memory of the hub at most, in the flood", unit="MiB", value=result.most_resident_mib,
        baseline=result.resident_before_mib, baseline_is="before the flood",
        target=result.resident_before_mib + FLOOD_MIB,
    )  # fmt: skip


def print_load(held: list[Standing], minutes: float) -> None:
    """The first third is left out: queues fill, and tables of the database's cache. Then two halves are compared."""
    steady = held[len(held) // 3 :]
    before, after = steady[: len(steady) // 2], steady[len(steady) // 2 :]
    per_s = (steady[-1].seen - steady[0].seen) / max(1, len(steady) - 1)
    baseline, value = (statistics.median(one.resident_mib for one in half) for half in (before, after))
    print_line(
        bench="ingest", figure=f"memory of the hub over {minutes:g} minutes at full load, {per_s:.0f} messages/s",
        unit="MiB", value=value, baseline=baseline, baseline_is="the half before, without the first third; medians",
        target=baseline + FLAT_MIB,
    )  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--load-minutes", type=float, default=10.0, help="how long full load lasts (default 10)")
    minutes: float = parser.parse_args().load_minutes
    with ExitStack() as parts:
        bench = Bench(parts)
        bare, hub = [], []
        for _ in range(ROUNDS):
            bare.append(rate(bench, bench.bare(), "begin"))
            hub.append(rate(bench, bench.hub(), ("through", MESSAGES)))
        print_rate(bare, hub)
        print_flood(flood(bench, OVERLOAD * MESSAGES))
        print_load(full_load(bench, minutes), minutes)


if __name__ == "__main__":
    main()

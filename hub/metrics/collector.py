"""A snapshot as families of metrics, as prometheus-client writes them out."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from prometheus_client.metrics_core import CounterMetricFamily, GaugeMetricFamily, InfoMetricFamily, Metric
from prometheus_client.registry import Collector

from hub.metrics.node_families import NODE_FAMILIES, NODE_SUPPLY_FAMILIES
from hub.metrics.snapshot import NodeReading, Snapshot
from node_agent.power import NO_FEED
from schemas import SupplyTelemetry

PREFIX: Final = "stringcourse"

_Sample = tuple[Sequence[str], float]


class SnapshotCollector(Collector):
    """Labels are bounded: venues, nodes and supplies of the inventory, kinds and states of our own."""

    def __init__(self, snapshot: Snapshot, version: str) -> None:
        self._snapshot = snapshot
        self._version = version

    def collect(self) -> Iterator[Metric]:
        yield InfoMetricFamily(f"{PREFIX}_hub", "The hub itself.", value={"version": self._version})
        yield from self._hub_families()
        yield self._findings()
        for family in NODE_FAMILIES:
            told = ((reading, family.value(reading)) for reading in self._snapshot.nodes)
            samples = (((one.venue, one.node), float(value)) for one, value in told if value is not None)
            yield _family(family.kind, f"node_{family.name}", family.unit, family.meaning, ("venue", "node"), samples)
        drawn = [(one, supply) for one in self._snapshot.nodes for supply in self._supplies_of(one)]
        labels = ("venue", "node", "supply")
        for each in NODE_SUPPLY_FAMILIES:
            values = (((one.venue, one.node, supply.supply), each.value(supply)) for one, supply in drawn)
            yield _family(each.kind, f"node_supply_{each.name}", each.unit, each.meaning, labels, values)

    def _hub_families(self) -> Iterator[Metric]:
        now = self._snapshot
        yield _family("gauge", "link_up", "", "1 while the hub is connected to the broker.", (), [((), now.link_is_up)])
        yield _family(
            "counter",
            "messages_rejected",
            "",
            "Messages of nodes that the hub refused, since it started.",
            ("reason",),
            [((reason,), count) for reason, count in sorted(now.messages_rejected.items())],
        )
        for name, meaning, count in (
            ("messages_dropped", "Messages that found no room in the hub's inbox.", now.messages_dropped),
            ("telemetry_stored", "Telemetry messages in the history.", now.telemetry_stored),
            ("telemetry_unstored", "Telemetry messages that are in no history.", now.telemetry_unstored),
        ):
            yield _family("counter", name, "", f"{meaning[:-1]}, since it started.", (), [((), count)])

    def _findings(self) -> Metric:
        samples = [
            ((venue, kind, severity, state), count)
            for venue, counts in sorted(self._snapshot.findings.items())
            for (kind, severity, state), count in sorted(counts.items())
        ]
        labels = ("venue", "kind", "severity", "state")
        return _family("gauge", "findings_open", "", "Open findings, folded ones left out.", labels, samples)

    def _supplies_of(self, reading: NodeReading) -> Iterable[SupplyTelemetry]:
        if reading.telemetry is None:
            return ()
        known = self._snapshot.supplies.get(reading.venue, frozenset())
        return (one for one in reading.telemetry.supplies if one.supply in known or one.supply == NO_FEED)


def _family(
    kind: str, name: str, unit: str, meaning: str, labels: Sequence[str], samples: Iterable[_Sample]
) -> GaugeMetricFamily | CounterMetricFamily:
    make = CounterMetricFamily if kind == "counter" else GaugeMetricFamily
    family = make(f"{PREFIX}_{name}", meaning, labels=labels, unit=unit)
    for values, value in samples:
        family.add_metric(values, value)
    return family

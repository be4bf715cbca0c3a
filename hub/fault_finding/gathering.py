"""Gathers what the hub knows of a node and a run: inventory, live state, the venue's network, open findings."""

from collections.abc import Sequence
from typing import Final, Protocol

from hub.audit.wiring_view import RunVolts
from hub.electrical.levels import Level
from hub.errors import NotFoundError
from hub.fault_finding.knowledge import Heard, Knowledge, LowestVolts, OpenFinding
from hub.fleet.loop import FleetLoop
from hub.health.table import FindingFilter
from hub.health.view import FindingView
from hub.rollout import VenueSource
from schemas import Channel, Node

MAX_FINDINGS: Final = 10


class RunVoltsSource(Protocol):
    """What fault finding needs of the audit."""

    def volts(self, venue: str, node: str, channel: int, level: Level) -> RunVolts: ...


class FindingSource(Protocol):
    """What fault finding needs of the findings."""

    def findings(
        self, venue: str, wanted: FindingFilter, after_id: int | None, limit: int
    ) -> Sequence[FindingView]: ...


class Gathering:
    """From any thread but the fleet loop's."""

    def __init__(self, inventory: VenueSource, loop: FleetLoop, volts: RunVoltsSource, findings: FindingSource) -> None:
        self._inventory = inventory
        self._loop = loop
        self._volts = volts
        self._findings = findings

    def check_venue(self, venue: str) -> None:
        """Raises NotFoundError for one that is not there."""
        self._inventory.venue(venue)

    def of(self, venue: str, node: str, channel: int | None) -> Knowledge:
        """Raises NotFoundError for a venue, node or channel that is not there."""
        present = self._inventory.venue(venue)
        board = next((one for one in present.nodes if one.id == node), None)
        if board is None:
            raise NotFoundError("node", node)
        run = None if channel is None else _channel_of(board, channel)

        def read(_now_s: float) -> tuple[Heard, dict[str, bool]]:
            states = {state.node: state for state in self._loop.state.of_venue(venue)}
            online = {name: state.online for name, state in states.items()}
            own = states.get(node)
            heard = Heard() if own is None else Heard(own.online, own.heard_at_s, own.telemetry, own.reported)
            return heard, online

        heard, online = self._loop.call(read)
        open_findings = self._findings.findings(
            venue, FindingFilter(open=True, node=node, folded=True), None, MAX_FINDINGS
        )
        return Knowledge(
            venue=present,
            node=board,
            channel=run,
            heard=heard,
            online=online,
            lowest=None if run is None else self._lowest(venue, node, run.number),
            findings=[OpenFinding(one.kind, one.message) for one in open_findings],
        )

    def _lowest(self, venue: str, node: str, channel: int) -> LowestVolts | None:
        return lowest_of(self._volts.volts(venue, node, channel, Level.UNDER_BUDGET))


def lowest_of(run: RunVolts) -> LowestVolts | None:
    """The darkest place of a run and its far end; None where no feed reaches any pixel."""
    reached = [(volts, pixel) for pixel, volts in enumerate(run.volts) if volts is not None]
    if not reached:
        return None
    volts, at_pixel = min(reached)
    return LowestVolts(volts, at_pixel, far_end_v=reached[-1][0])


def _channel_of(node: Node, number: int) -> Channel:
    channel = next((one for one in node.channels if one.number == number), None)
    if channel is None:
        raise NotFoundError("channel", f"{node.id}/{number}")
    return channel

"""A venue of two boards on one supply, and what they tell of it, given to a service as the fleet loop gives it."""

from datetime import UTC, datetime
from typing import Protocol

from hub.fleet.state import NodeState
from schemas import Leaf, Venue
from tests.hub.desired.venues import row_document, venue_from
from tests.hub.played_node import telemetry

VENUE = "arcade"
FIRST, SECOND, SUPPLY = "bay-0001", "bay-0002", "psu-shared"
NOON_S = datetime(2031, 5, 1, 12, tzinfo=UTC).timestamp()
MIDNIGHT_S = NOON_S + 12 * 3_600


class Listener(Protocol):
    def node_changed(self, node: NodeState, leaf: Leaf, now_s: float) -> None: ...

    def tick(self, now_s: float) -> None: ...


def shared_venue(*, volts: float = 5.0, rated_a: float = 10.0, efficiency: float = 0.8, tariff: bool = True) -> Venue:
    """Both boards on `SUPPLY`, 0.25 EUR per kWh."""
    document = row_document(nodes=2)
    document["supplies"] = [{"id": SUPPLY, "volts": volts, "rated_a": rated_a, "efficiency": efficiency}]
    for node in document["nodes"]:
        for channel in node["channels"]:
            channel["run"]["feeds"][0]["supply"] = SUPPLY
    if tariff:
        document["tariff"] = {"currency": "EUR", "per_kwh": 0.25}
    return venue_from(document)


def tell(
    listener: Listener,
    at_s: float,
    charge_ah: float,
    uptime_s: float,
    *,
    node: str = FIRST,
    boot_id: str = "0123456789abcdef",
    amps: float = 1.0,
    highest_a: float = 1.0,
    supply: str = SUPPLY,
) -> NodeState:
    """One telemetry message, heard at `at_s`, and the tick after it."""
    drawn = {"supply": supply, "amps": amps, "highest_a": highest_a, "limiter_scale": 1.0}
    said = telemetry(
        boot_id=boot_id, uptime_s=uptime_s, supplies=[drawn | {"wanted_a": highest_a, "charge_ah": charge_ah}]
    )
    state = NodeState(VENUE, node, online=True, telemetry=said, telemetry_at_s=at_s)
    listener.node_changed(state, Leaf.TELEMETRY, at_s)
    listener.tick(at_s)
    return state

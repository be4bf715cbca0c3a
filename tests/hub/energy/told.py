"""A venue of two boards on one supply, and what they tell of it, as a service finds it in the fleet's state."""

from datetime import UTC, datetime

from hub.energy import EnergyService
from hub.fleet.state import FleetState, NodeState
from schemas import Venue
from tests.hub.desired.venues import row_document, venue_from
from tests.hub.played_node import telemetry

VENUE = "arcade"
FIRST, SECOND, SUPPLY = "bay-0001", "bay-0002", "psu-shared"
NOON_S = datetime(2031, 5, 1, 12, tzinfo=UTC).timestamp()
MIDNIGHT_S = NOON_S + 12 * 3_600


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


def hear(
    fleet: FleetState,
    at_s: float,
    *,
    node: str = FIRST,
    boot_id: str = "0123456789abcdef",
    uptime_s: float = 60.0,
    charge_ah: float = 0.0,
    amps: float = 1.0,
    supply: str = SUPPLY,
) -> NodeState:
    """One telemetry message, heard at `at_s`, as the fleet's state has it then."""
    drawn = {"supply": supply, "amps": amps, "highest_a": amps, "limiter_scale": 1.0}
    said = telemetry(boot_id=boot_id, uptime_s=uptime_s, supplies=[drawn | {"wanted_a": amps, "charge_ah": charge_ah}])
    state = NodeState(VENUE, node, online=True, telemetry=said, telemetry_at_s=at_s)
    fleet.nodes[state.key] = state
    return state


def tell(
    service: EnergyService,
    at_s: float,
    charge_ah: float,
    uptime_s: float,
    *,
    node: str = FIRST,
    boot_id: str = "0123456789abcdef",
    supply: str = SUPPLY,
) -> None:
    """One telemetry message, and the service's next look at the fleet."""
    hear(service._fleet, at_s, node=node, boot_id=boot_id, uptime_s=uptime_s, charge_ah=charge_ah, supply=supply)
    service.keep()

"""Energy in the database: counters read and written, charge added to its day, sums for readers, old days purged."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from sqlalchemy import Connection, and_, delete, func, select
from sqlalchemy.dialects import postgresql, sqlite

from hub.energy.counting import Counter, Told
from hub.energy.models import ChargeCounter, EnergyDay
from hub.inventory.models import SupplyRecord
from schemas import Supply

_DAYS = EnergyDay.__table__  # type: ignore[attr-defined]
_COUNTERS = ChargeCounter.__table__  # type: ignore[attr-defined]
_SUPPLIES = SupplyRecord.__table__  # type: ignore[attr-defined]
# A supply that is no longer in the venue is taken to be as efficient as one that does not say.
DEFAULT_EFFICIENCY: Final = float(Supply.model_fields["efficiency"].default)

CounterKey = tuple[str, str, str]  # venue, node, supply
DayKey = tuple[str, str, str, str]  # venue, day, supply, node


class EnergyBy(StrEnum):
    """What each row of an account is about."""

    SUPPLY = "supply"
    NODE = "node"
    DAY = "day"


@dataclass(slots=True)
class Drawn:
    """Charge, energy on the DC side, and the hours in which it was drawn."""

    amp_h: float = 0.0
    watt_h: float = 0.0
    hours: float = 0.0


@dataclass(frozen=True, slots=True)
class EnergySum:
    """What was drawn in all by a supply, by a node or on a day; `mains_watt_h` at the supplies' efficiencies of now."""

    name: str
    amp_h: float
    watt_h: float
    mains_watt_h: float
    hours: float


def read_counters(connection: Connection, venues: Collection[str]) -> dict[CounterKey, Counter]:
    """Every counter of the venues."""
    rows = connection.execute(select(_COUNTERS).where(_COUNTERS.c.venue.in_(venues)))
    return {
        (row.venue, row.node, row.supply): Counter(
            Told(row.boot_id, row.charge_ah, row.uptime_s, row.heard_at_s), tuple(row.ended_boots.split())
        )
        for row in rows
    }


def write_counters(connection: Connection, counters: Mapping[CounterKey, Counter]) -> None:
    if not counters:
        return
    insert = (postgresql if connection.dialect.name == "postgresql" else sqlite).insert(_COUNTERS)
    names = ("boot_id", "charge_ah", "uptime_s", "heard_at_s", "ended_boots")
    statement = insert.on_conflict_do_update(
        index_elements=["venue", "node", "supply"], set_={name: insert.excluded[name] for name in names}
    )
    rows = [
        {
            "venue": venue,
            "node": node,
            "supply": supply,
            "boot_id": counter.told.boot_id,
            "charge_ah": counter.told.charge_ah,
            "uptime_s": counter.told.uptime_s,
            "heard_at_s": counter.told.heard_at_s,
            "ended_boots": " ".join(counter.ended),
        }
        for (venue, node, supply), counter in counters.items()
    ]
    connection.execute(statement, rows)


def add_drawn(connection: Connection, drawn: Mapping[DayKey, Drawn]) -> None:
    """Add to what the days have already."""
    if not drawn:
        return
    insert = (postgresql if connection.dialect.name == "postgresql" else sqlite).insert(_DAYS)
    statement = insert.on_conflict_do_update(
        index_elements=["venue", "day", "supply", "node"],
        set_={name: _DAYS.c[name] + insert.excluded[name] for name in ("amp_h", "watt_h", "hours")},
    )
    rows = [
        {
            "venue": venue,
            "day": day,
            "supply": supply,
            "node": node,
            "amp_h": one.amp_h,
            "watt_h": one.watt_h,
            "hours": one.hours,
        }
        for (venue, day, supply, node), one in drawn.items()
    ]
    connection.execute(statement, rows)


def energy_sums(connection: Connection, venue: str, first: date, last: date, by: EnergyBy) -> list[EnergySum]:
    """The sums of the days `first` to `last`, both counted, in the order of their names."""
    name = _DAYS.c[by.value]
    efficiency = func.coalesce(_SUPPLIES.c.efficiency, DEFAULT_EFFICIENCY)
    statement = (
        select(
            name,
            func.sum(_DAYS.c.amp_h),
            func.sum(_DAYS.c.watt_h),
            func.sum(_DAYS.c.watt_h / efficiency),
            func.sum(_DAYS.c.hours),
        )
        .select_from(
            _DAYS.outerjoin(_SUPPLIES, and_(_SUPPLIES.c.venue == _DAYS.c.venue, _SUPPLIES.c.id == _DAYS.c.supply))
        )
        .where(_DAYS.c.venue == venue, _DAYS.c.day.between(first.isoformat(), last.isoformat()))
        .group_by(name)
        .order_by(name)
    )
    return [EnergySum(*row) for row in connection.execute(statement)]


def purge(connection: Connection, oldest: str, oldest_heard_s: float) -> None:
    """Forget days before `oldest`, and counters not heard since."""
    connection.execute(delete(_DAYS).where(_DAYS.c.day < oldest))
    connection.execute(delete(_COUNTERS).where(_COUNTERS.c.heard_at_s < oldest_heard_s))

"""Energy in a real database: exact sums over restarts of board and hub and over midnight; lies cost nobody anything."""

from datetime import UTC, date, datetime

import pytest
from sqlalchemy import Engine, func, select, text

from hub.energy import EnergyService
from hub.energy.counting import Disbelief
from hub.energy.models import ChargeCounter, EnergyDay
from hub.energy.service import KEPT_DAYS
from hub.energy.table import EnergyBy, EnergySum
from hub.fleet.state import FleetState
from hub.inventory.service import InventoryService
from schemas import Leaf, Venue
from tests.hub.conftest import on_each_database
from tests.hub.desired.venues import row_venue
from tests.hub.energy.told import FIRST, MIDNIGHT_S, NOON_S, SECOND, SUPPLY, VENUE, hear, shared_venue, tell

pytestmark = on_each_database
OTHER_BOOT = "fedcba9876543210"
TODAY, TOMORROW = date(2031, 5, 1), date(2031, 5, 2)


def opened(engine: Engine, venue: Venue | None = None) -> EnergyService:
    """A service as a hub has it that has just started."""
    service = EnergyService(engine, FleetState(), clock=lambda: NOON_S)
    service.venue_changed(venue or shared_venue())
    return service


def sums(service: EnergyService, by: EnergyBy, first: date = TODAY, last: date = TOMORROW) -> dict[str, EnergySum]:
    return {one.name: one for one in service.sums(VENUE, first, last, by)}


def figures(one: EnergySum) -> tuple[float, ...]:
    return one.amp_h, one.watt_h, one.mains_watt_h, one.hours


def rows(engine: Engine, table: type[EnergyDay] | type[ChargeCounter]) -> int:
    with engine.connect() as connection:
        return connection.execute(select(func.count()).select_from(table)).scalar_one()


def test_charge_is_counted_by_supply_node_and_day(engine: Engine) -> None:
    InventoryService(engine).load(shared_venue())
    service = opened(engine)
    # 3 A and 1 A, told after a quarter of an hour each; then 2 A for half an hour more.
    tell(service, NOON_S + 900, 0.75, 900)
    tell(service, NOON_S + 900, 0.25, 900, node=SECOND)
    service.write()
    tell(service, NOON_S + 2_700, 1.75, 2_700)
    by_node = sums(service, EnergyBy.NODE)
    assert figures(by_node[FIRST]) == pytest.approx((1.75, 8.75, 10.9375, 0.75))
    assert figures(by_node[SECOND]) == pytest.approx((0.25, 1.25, 1.5625, 0.25))
    by_supply = sums(service, EnergyBy.SUPPLY)
    assert list(by_supply) == [SUPPLY]
    assert figures(by_supply[SUPPLY]) == pytest.approx((2.0, 10.0, 12.5, 1.0))
    assert sums(service, EnergyBy.DAY)["2031-05-01"].amp_h == 2.0


def test_board_that_restarts_is_counted_from_nothing_again(engine: Engine) -> None:
    service = opened(engine)
    tell(service, NOON_S + 60, 0.05, 60)
    tell(service, NOON_S + 120, 0.02, 30, boot_id=OTHER_BOOT)
    tell(service, NOON_S + 180, 0.07, 90, boot_id=OTHER_BOOT)
    service.write()
    tell(service, NOON_S + 181, 0.06, 70)  # of the boot that ended
    assert sums(service, EnergyBy.NODE)[FIRST].amp_h == pytest.approx(0.05 + 0.07)
    assert service.disbelieved == {Disbelief.ENDED_BOOT: 1}


def test_last_word_before_a_birth_counts_though_no_tick_came_between(engine: Engine) -> None:
    service = opened(engine)
    service.tick(NOON_S)
    node = hear(service._fleet, NOON_S + 60, charge_ah=0.05)
    service.node_changed(node, Leaf.PRESENCE, NOON_S + 65)
    hear(service._fleet, NOON_S + 130, charge_ah=0.05, boot_id=OTHER_BOOT)
    service.tick(NOON_S + 131)
    assert sums(service, EnergyBy.NODE)[FIRST].amp_h == pytest.approx(0.10)


def test_word_that_was_counted_is_not_written_again(engine: Engine) -> None:
    service = opened(engine)
    tell(service, NOON_S + 60, 0.05, 60)
    service.write()
    service.keep()
    assert service._waiting == {}


def test_hub_that_restarts_neither_loses_nor_counts_twice(engine: Engine) -> None:
    first = opened(engine)
    tell(first, NOON_S + 60, 0.05, 60)
    first.write()
    tell(first, NOON_S + 65, 0.055, 65)  # not yet written when the hub is killed
    second = opened(engine)
    tell(second, NOON_S + 60, 0.05, 60)
    second.write()
    tell(second, NOON_S + 3_660, 3.05, 3_660)  # 3 A through the hour that the hub was off
    total = sums(second, EnergyBy.NODE)[FIRST]
    assert total.amp_h == pytest.approx(3.05)
    assert total.hours == pytest.approx(3_660 / 3_600)


def test_stop_counts_what_waits(engine: Engine) -> None:
    service = opened(engine)
    service.start()
    tell(service, NOON_S + 60, 0.05, 60)
    service.stop()
    assert rows(engine, EnergyDay) == 1


def test_charge_over_midnight_is_shared_by_time(engine: Engine) -> None:
    service = opened(engine)
    tell(service, MIDNIGHT_S - 10, 1.0, 3_600)
    service.write()
    tell(service, MIDNIGHT_S + 30, 1.04, 3_640)
    by_day = sums(service, EnergyBy.DAY)
    assert by_day["2031-05-01"].amp_h == pytest.approx(1.01)
    assert by_day["2031-05-02"].amp_h == pytest.approx(0.03)
    assert by_day["2031-05-02"].hours == pytest.approx(30 / 3_600)
    assert list(sums(service, EnergyBy.DAY, TOMORROW, TOMORROW)) == ["2031-05-02"]


def test_lie_costs_neither_the_liars_charge_nor_anybody_elses(engine: Engine) -> None:
    service = opened(engine)
    for step, charge_ah in enumerate([0.005, 1e9, 0.0, 0.020], start=1):
        tell(service, NOON_S + 60 * step, charge_ah, 60 * step)
        tell(service, NOON_S + 60 * step, 0.01 * step, 60 * step, node=SECOND)
        service.write()
    assert sums(service, EnergyBy.NODE)[FIRST].amp_h == pytest.approx(0.020)
    assert sums(service, EnergyBy.NODE)[SECOND].amp_h == pytest.approx(0.04)
    assert service.disbelieved == {Disbelief.IMPOSSIBLE: 1, Disbelief.BACKWARDS: 1}


def test_only_supplies_that_the_venue_has_and_wires_are_counted(engine: Engine) -> None:
    service = opened(engine)
    tell(service, NOON_S + 60, 0.05, 60, supply="psu-made-up")
    service.venue_changed(row_venue(nodes=2))
    tell(service, NOON_S + 60, 0.05, 60, supply=f"psu-{SECOND}")
    service.write()
    assert (rows(engine, EnergyDay), rows(engine, ChargeCounter)) == (0, 0)


def test_energy_stays_when_a_supply_is_replaced_or_taken_away(engine: Engine) -> None:
    inventory = InventoryService(engine)
    inventory.load(shared_venue())
    service = opened(engine)
    tell(service, NOON_S + 60, 0.05, 60)
    service.venue_changed(shared_venue(volts=12.0))
    tell(service, NOON_S + 120, 0.10, 120)
    assert sums(service, EnergyBy.SUPPLY)[SUPPLY].watt_h == pytest.approx(0.05 * 5 + 0.05 * 12)
    inventory.load(row_venue(nodes=2))
    service.venue_changed(row_venue(nodes=2))
    # 0.85 is what a supply is taken for that does not state its efficiency.
    assert sums(service, EnergyBy.SUPPLY)[SUPPLY].mains_watt_h == pytest.approx(0.85 / 0.85)


def test_last_words_of_a_boot_count_when_they_arrive_out_of_order(engine: Engine) -> None:
    service = opened(engine)
    for uptime_s in (60, 180, 120):
        tell(service, NOON_S + 180, 0.001 * uptime_s, uptime_s)
    assert sums(service, EnergyBy.NODE)[FIRST].amp_h == pytest.approx(0.18)


def test_database_that_fails_for_a_while_costs_nothing(engine: Engine) -> None:
    service = opened(engine)
    tell(service, NOON_S + 60, 0.05, 60)
    with engine.begin() as connection:
        connection.execute(text("ALTER TABLE energy_day RENAME TO hidden"))
    service.write()
    assert rows(engine, ChargeCounter) == 0
    tell(service, NOON_S + 70, 0.01, 5, boot_id=OTHER_BOOT)
    with engine.begin() as connection:
        connection.execute(text("ALTER TABLE hidden RENAME TO energy_day"))
    assert sums(service, EnergyBy.NODE)[FIRST].amp_h == pytest.approx(0.06)


def test_what_waits_is_bounded(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("hub.energy.service.MAX_BOOTS_WAITING", 3)
    service = opened(engine)
    for number in range(10):
        tell(service, NOON_S + 60 * number, 0.001, 30, boot_id=f"0000000{number}")
    assert sums(service, EnergyBy.NODE)[FIRST].amp_h == pytest.approx(0.003)


def test_energy_is_kept_for_three_years(engine: Engine) -> None:
    service = EnergyService(engine, FleetState(), clock=lambda: NOON_S)
    service.venue_changed(shared_venue())
    tell(service, NOON_S, 0.01, 60)
    service.write()

    def reopened(days: int) -> EnergyService:
        later = EnergyService(engine, FleetState(), clock=lambda: NOON_S + days * 86_400)
        later.write()
        return later

    assert reopened(KEPT_DAYS).today("arcade") == datetime.fromtimestamp(NOON_S + KEPT_DAYS * 86_400, UTC).date()
    assert (rows(engine, EnergyDay), rows(engine, ChargeCounter)) == (1, 1)
    reopened(KEPT_DAYS + 1)
    assert (rows(engine, EnergyDay), rows(engine, ChargeCounter)) == (0, 0)


def test_days_are_the_venue_s_own(engine: Engine) -> None:
    service = opened(engine, shared_venue().model_copy(update={"time_zone": "Pacific/Auckland"}))
    # 12:00 UTC is midnight in Auckland (NZST, UTC+12): the half hour before is of the first day.
    tell(service, NOON_S + 1_800, 2.0, 3_600)
    by_day = sums(service, EnergyBy.DAY)
    assert {day: (one.amp_h, one.hours) for day, one in by_day.items()} == {
        "2031-05-01": (1.0, 0.5),
        "2031-05-02": (1.0, 0.5),
    }
    assert service.today(VENUE) == TOMORROW
    assert service.today("another") == TODAY

"""Load in a real database: what the fleet loop's ticks sample, over days, restarts and failures."""

import pytest
from sqlalchemy import Engine, func, select, text

from hub.fleet.state import FleetState
from hub.load import LoadService, SupplyLoad
from hub.load.models import LoadDay
from hub.load.service import KEPT_DAYS
from tests.hub.conftest import on_each_database
from tests.hub.energy.told import MIDNIGHT_S, NOON_S, SECOND, SUPPLY, VENUE, hear, shared_venue

pytestmark = on_each_database
INTERVAL_S = 5.0


def opened(engine: Engine, at_s: float = NOON_S) -> LoadService:
    """A service as a hub has it that has just started."""
    service = LoadService(engine, FleetState(), INTERVAL_S, clock=lambda: at_s)
    service.venue_changed(shared_venue())
    return service


def run(service: LoadService, from_s: float, seconds: int, first_a: float, second_a: float) -> None:
    """Both boards tell every 5 s what they draw; the loop ticks ten times a second."""
    for tick in range(seconds * 10 + 1):
        now_s = from_s + tick / 10
        if tick % 50 == 0:
            hear(service._fleet, now_s, amps=first_a)
            hear(service._fleet, now_s, node=SECOND, amps=second_a)
        service.tick(now_s)


def loaded(service: LoadService) -> SupplyLoad:
    load = service.load(VENUE)
    assert list(load) == [SUPPLY]
    return load[SUPPLY]


def days(engine: Engine) -> int:
    with engine.connect() as connection:
        return connection.execute(select(func.count()).select_from(LoadDay)).scalar_one()


def test_load_is_highest_percentile_and_hours(engine: Engine) -> None:
    service = opened(engine)
    run(service, NOON_S, 180, 1.0, 2.0)
    run(service, NOON_S + 180, 20, 3.0, 4.0)
    load = loaded(service)
    # 7 A for 10 % of the time; 95 % of it lies in the bin of 7 A.
    assert load.highest_a == 7.0
    assert load.percentile_95_a == pytest.approx(7.0, abs=0.05)
    assert load.hours == pytest.approx(200 / 3_600, rel=0.02)


def test_short_peak_is_the_highest_and_not_the_percentile(engine: Engine) -> None:
    service = opened(engine)
    run(service, NOON_S, 195, 1.0, 2.0)
    run(service, NOON_S + 195, 5, 3.0, 4.0)
    load = loaded(service)
    assert load.highest_a == 7.0
    assert load.percentile_95_a == pytest.approx(3.0, abs=0.05)


def test_load_adds_up_over_writes_restarts_and_midnight(engine: Engine) -> None:
    first = opened(engine)
    run(first, MIDNIGHT_S - 60, 30, 1.0, 2.0)
    first.write()
    run(first, MIDNIGHT_S - 30, 60, 1.0, 2.0)
    first.start()
    first.stop()
    assert days(engine) == 2
    second = opened(engine, MIDNIGHT_S)
    run(second, MIDNIGHT_S + 30, 30, 1.0, 2.0)
    assert loaded(second).hours == pytest.approx(118 / 3_600, rel=0.03)


def test_nothing_heard_is_no_load(engine: Engine) -> None:
    service = opened(engine)
    for second in range(60):
        service.tick(NOON_S + second)
    assert service.load(VENUE) == {}
    assert service.load("elsewhere") == {}


def test_node_that_goes_off_ends_the_time_that_counts(engine: Engine) -> None:
    service = opened(engine)
    run(service, NOON_S, 30, 1.0, 2.0)
    hear(service._fleet, NOON_S + 30).online = False
    for second in range(1, 60):
        hear(service._fleet, NOON_S + 30 + second, node=SECOND, amps=2.0)
        service.tick(NOON_S + 30 + second)
    assert loaded(service).hours == pytest.approx(30 / 3_600, abs=2 / 3_600)
    assert loaded(service).highest_a == 3.0


def test_hub_that_stood_still_counts_none_of_that_time(engine: Engine) -> None:
    service = opened(engine)
    run(service, NOON_S, 10, 1.0, 2.0)
    run(service, NOON_S + 3_600, 10, 1.0, 2.0)
    assert loaded(service).hours == pytest.approx(20 / 3_600, abs=3 / 3_600)


def test_changed_rating_begins_a_histogram_of_its_own(engine: Engine) -> None:
    service = opened(engine)
    run(service, NOON_S, 60, 1.0, 2.0)
    service.venue_changed(shared_venue(rated_a=20.0))
    run(service, NOON_S + 60, 60, 1.0, 2.0)
    assert loaded(service).percentile_95_a == pytest.approx(3.0, abs=0.1)
    assert days(engine) == 2


def test_change_that_leaves_supplies_alone_keeps_one_histogram(engine: Engine) -> None:
    service = opened(engine)
    run(service, NOON_S, 10, 1.0, 2.0)
    service.venue_changed(shared_venue(tariff=False))
    run(service, NOON_S + 10, 10, 1.0, 2.0)
    assert loaded(service).hours == pytest.approx(20 / 3_600, abs=3 / 3_600)
    assert days(engine) == 1


def test_database_that_fails_for_a_while_costs_nothing(engine: Engine) -> None:
    service = opened(engine)
    with engine.begin() as connection:
        connection.execute(text("ALTER TABLE load_day RENAME TO hidden"))
    for minute in range(3):
        run(service, NOON_S + 20 * minute, 20, 1.0, 2.0)
        service.write()
    assert len(service._closed) == 1
    with engine.begin() as connection:
        connection.execute(text("ALTER TABLE hidden RENAME TO load_day"))
    assert loaded(service).hours == pytest.approx(60 / 3_600, abs=4 / 3_600)


def test_load_is_kept_for_thirty_days(engine: Engine) -> None:
    run_on_first = opened(engine)
    run(run_on_first, NOON_S, 10, 1.0, 2.0)
    run_on_first.write()
    assert list(opened(engine, NOON_S + (KEPT_DAYS - 1) * 86_400).load(VENUE)) == [SUPPLY]
    assert opened(engine, NOON_S + KEPT_DAYS * 86_400).load(VENUE) == {}
    assert days(engine) == 0

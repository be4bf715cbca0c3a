"""Changes become notices: each finding told once to each who is to know, whenever the hub is killed meanwhile."""

from collections.abc import Iterator

import pytest
from sqlalchemy import Engine

from hub.database import open_database
from hub.health.kinds import Severity
from hub.notify.destination import Hours, Route, Told
from hub.notify.making import Settling
from hub.notify.models import Notice
from hub.notify.notice import Delivered, Failed
from hub.notify.outbox import Outbox
from tests.hub.conftest import on_each_database
from tests.hub.notify.told import NODES, NOON_MS, House

SETTLED_MS = Settling().opened_ms + 1
OVER_MS = Settling().ended_ms + 1
HOUR_MS = 3_600_000


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    engine = open_database(f"sqlite:///{tmp_path_factory.mktemp('notify') / 'hub.sqlite3'}")
    yield engine
    engine.dispose()


@pytest.fixture
def house(file: Engine) -> House:
    return House(file)


def deliver(house: House) -> list[Notice]:
    """Everything that is due arrives."""
    outbox = Outbox(house.engine)
    arrived: list[Notice] = []
    while due := outbox.first_due(house.now_ms):
        for notice in due:
            settled = outbox.settle(notice.id or 0, Delivered(), house.now_ms)
            assert settled is not None
            arrived.append(settled)
    return arrived


@on_each_database
def test_finding_is_told_once_it_has_settled_and_once(engine: Engine) -> None:
    house = House(engine)
    house.add("desk")
    house.add("pager")
    finding = house.open()
    house.make(SETTLED_MS - 2)
    assert house.notices() == []
    house.make(2)
    told = [("desk", "opened", finding, "waiting"), ("pager", "opened", finding, "waiting")]
    assert house.notices() == told
    with house.changing(finding) as ledger:
        ledger.add_note(finding, "Ada", "seen from the street")
    house.make(HOUR_MS)
    assert house.notices() == told


def test_what_came_and_went_within_the_settling_time_is_not_told(house: House) -> None:
    house.add()
    finding = house.open()
    house.now_ms += 5_000
    house.end(finding)
    house.make(OVER_MS)
    assert house.notices() == []


def test_parent_is_told_and_its_members_are_not(house: House) -> None:
    house.add()
    members = [house.open(node) for node in NODES]
    house.now_ms += 2_000
    parent = house.open_parent(members)
    house.make()
    assert house.notices() == [("desk", "opened", parent, "waiting")]
    (row,) = Outbox(house.engine).notices("arcade", None, None, None, 9)
    assert all(node in row.text for node in NODES)


def test_members_of_a_cause_that_was_disproved_are_told_then(house: House) -> None:
    house.add()
    members = [house.open(node) for node in NODES]
    parent = house.open_parent(members)
    house.make()
    deliver(house)
    with house.changing(parent, *members) as ledger:
        ledger.end(parent)
        ledger.end(members[0])
        for member in members:
            ledger.unfold(member)
    house.make()
    assert [one[2] for one in house.notices()] == [parent, *members[1:]]
    deliver(house)
    house.make(OVER_MS)
    (ended,) = [row for row in deliver(house) if row.about == "ended"]
    assert (ended.finding, ended.subject[:24]) == (parent, "Not one cause after all:")


def test_muted_finding_is_told_once_the_work_is_over(house: House) -> None:
    house.add()
    finding = house.open()
    house.mute(finding)
    house.make()
    assert house.notices() == []
    house.now_ms += HOUR_MS
    with house.changing(finding) as ledger:
        ledger.unmute(finding, None)
    house.make()
    assert house.notices() == [("desk", "opened", finding, "waiting")]


def test_what_somebody_has_in_hand_already_is_not_told(house: House) -> None:
    house.add()
    finding = house.open()
    with house.changing(finding) as ledger:
        ledger.acknowledge(finding, "Ada", None)
    house.make()
    assert house.notices() == []


def test_what_comes_back_soon_is_not_told_again_and_its_end_is_told_once_it_is_final(house: House) -> None:
    house.add()
    finding = house.open()
    house.make()
    deliver(house)
    for _ in range(3):
        house.end(finding)
        house.make(5 * 60_000)
        house.reopen(finding)
        house.make(5 * 60_000)
    assert house.notices() == [("desk", "opened", finding, "delivered")]
    house.end(finding)
    house.make(OVER_MS)
    assert house.notices() == [("desk", "opened", finding, "delivered"), ("desk", "ended", finding, "waiting")]


def test_end_is_told_to_whoever_was_told_of_the_beginning(house: House) -> None:
    house.add("told")
    house.add("not-of-ends", Route(tells=(Told.OPENED,)))
    house.add("not-of-these", Route(severity_at_least=Severity.ALARM))
    house.add("in-the-evening", Route(hours=Hours(begins="20:00", ends="21:00")))
    finding = house.open()
    house.make()
    house.add("came-later")
    deliver(house)
    house.end(finding)
    house.make(OVER_MS)
    assert set(house.notices()) == {
        ("told", "opened", finding, "delivered"),
        ("told", "ended", finding, "waiting"),
        ("not-of-ends", "opened", finding, "delivered"),
        ("in-the-evening", "opened", finding, "withdrawn"),
    }


@on_each_database
def test_end_waits_for_a_beginning_that_has_not_arrived(engine: Engine) -> None:
    house = House(engine)
    house.add()
    finding = house.open()
    house.make()
    outbox = Outbox(house.engine)
    (opened,) = outbox.first_due(house.now_ms)
    outbox.settle(opened.id or 0, Failed("answered 503"), house.now_ms + OVER_MS)
    house.end(finding)
    house.make(OVER_MS)
    assert outbox.first_due(house.now_ms) == []
    house.now_ms += HOUR_MS
    assert [row.about for row in deliver(house)] == ["opened", "ended"]


def test_end_of_what_was_given_up_is_not_told(house: House) -> None:
    house.add()
    finding = house.open()
    house.make()
    outbox = Outbox(house.engine)
    (opened,) = outbox.first_due(house.now_ms)
    outbox.settle(opened.id or 0, Failed("answered 503"), house.now_ms)
    house.end(finding)
    house.make(OVER_MS)
    outbox.settle(opened.id or 0, Failed("answered 404", lasting=True), house.now_ms)
    assert deliver(house) == []
    assert house.notices() == [("desk", "opened", finding, "dead"), ("desk", "ended", finding, "withdrawn")]


def test_outside_of_its_hours_a_notice_waits_or_is_left_to_the_digest(house: House) -> None:
    evening = Hours(begins="18:00", ends="22:00")
    house.add("waits", Route(hours=evening))
    house.add("reads-the-digest", Route(hours=evening.model_copy(update={"outside": "digest"})))
    house.add("alarms-at-once", Route(hours=evening), Route(severity_at_least=Severity.ALARM))
    alarm, warning = house.open(severity=Severity.ALARM), house.open()
    house.make()
    assert sorted((row.destination, row.finding) for row in deliver(house)) == [("alarms-at-once", alarm)]
    house.now_ms = NOON_MS + 6 * HOUR_MS
    house.end(warning)
    told = sorted((row.destination, row.finding) for row in deliver(house))
    assert told == [("waits", alarm)]  # the other was over by then


def test_what_was_withdrawn_and_comes_back_is_told_at_the_next_begin(house: House) -> None:
    house.add("desk", Route(hours=Hours(begins="18:00", ends="22:00")))
    finding = house.open()
    house.make()
    house.mute(finding)
    house.now_ms = NOON_MS + 6 * HOUR_MS
    assert deliver(house) == []
    assert house.notices() == [("desk", "opened", finding, "withdrawn")]
    with house.changing(finding) as ledger:
        ledger.unmute(finding, None)
    house.make()
    assert [row.finding for row in deliver(house)] == [finding]


def test_zone_of_a_route_is_that_of_the_findings_nodes(house: House) -> None:
    house.add("first", Route(zones=("zone-bay-0001",)))
    house.add("second", Route(zones=("zone-bay-0002",)))
    house.add("band", Route(zones=("band",)))
    alone = house.open("bay-0002")
    members = [house.open("bay-0001"), house.open("bay-0003")]
    parent = house.open_parent(members)
    house.make()
    told = {(one[0], one[2]) for one in house.notices()}
    assert told == {("second", alone), ("band", alone), ("first", parent), ("band", parent)}


def test_clock_that_was_set_back_holds_nothing_up(house: House) -> None:
    house.add()
    house.now_ms += HOUR_MS
    finding = house.open()
    house.now_ms -= HOUR_MS
    house.make(1_000)
    assert house.notices() == [("desk", "opened", finding, "waiting")]

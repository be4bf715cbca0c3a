"""The whole of notification over real receivers: delivered once, tried again, given up, nobody held up by another."""

import threading
from collections.abc import Iterator

import pytest
from sqlalchemy import Engine

from hub.database import open_database
from hub.errors import ConflictError, NotFoundError
from hub.notify import notifier
from hub.notify.back_off import GIVEN_UP_AFTER_MS, LONGEST_MS, back_off_ms
from hub.notify.destination import DestinationKind, Route, Told
from hub.notify.notice import About, NoticeState
from hub.notify.view import NoticeView
from tests.hub.notify.receiver import Receiver, Request, open_receiver
from tests.hub.notify.told import VENUE, House
from tests.processes import wait_until

LONGEST_S = 20.0


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Engine]:
    engine = open_database(f"sqlite:///{tmp_path_factory.mktemp('notify') / 'hub.sqlite3'}")
    yield engine
    engine.dispose()


@pytest.fixture
def house(file: Engine, monkeypatch: pytest.MonkeyPatch) -> Iterator[House]:
    monkeypatch.setattr(notifier, "TURN_S", 0.05)
    house = House(file)
    house.service.start()
    yield house
    house.service.stop()


@pytest.fixture
def receiver() -> Iterator[Receiver]:
    with open_receiver() as opened:
        yield opened


def settled(house: House, *states: str) -> list[NoticeView]:
    """The notices, newest first, once their states are these."""

    def look() -> list[NoticeView] | None:
        found = house.service.notices(VENUE, None, None, None, 100)
        return found if [one.state for one in found] == list(states) else None

    found = wait_until(look, LONGEST_S, f"notices to be {states}")
    assert found is not None
    return found


def tried(house: House, attempts: int) -> NoticeView:
    """The only notice, once it was tried so often."""

    def look() -> NoticeView | None:
        found = house.service.notices(VENUE, None, None, None, 1)
        return found[0] if found and found[0].attempts == attempts else None

    found = wait_until(look, LONGEST_S, f"{attempts} attempts")
    assert found is not None
    return found


def test_what_settles_arrives_once_at_each_and_its_end_too(house: House, receiver: Receiver) -> None:
    house.service.page_is_at("http://192.0.2.10:8460")
    house.add("one", url=f"{receiver.address}/one")
    house.add("two", Route(tells=(Told.OPENED,)), url=f"{receiver.address}/two")
    finding = house.open()
    house.now_ms += 10_001
    settled(house, "delivered", "delivered")
    house.end(finding)
    house.now_ms += 610_001
    settled(house, "delivered", "delivered", "delivered")
    assert sorted(request.url.rpartition("/")[2] for request in receiver.got) == ["one", "one", "two"]
    assert f"#venue={VENUE}&finding={finding}" in receiver.got[0].body.decode()
    one, _ = house.service.destinations(VENUE).items
    assert (one.waiting, one.dead, one.last_error) == (0, 0, None)
    assert one.delivered_at_ms == house.now_ms


def test_what_fails_is_tried_again_with_the_same_key_until_it_arrives(house: House, receiver: Receiver) -> None:
    receiver.answers = lambda _request: 503 if len(receiver.got) < 3 else 200
    house.add(url=receiver.address)
    house.open()
    house.now_ms += 10_001
    for attempts in (1, 2):
        notice = tried(house, attempts)
        assert notice.last_error == "answered 503"
        assert notice.due_at_ms > house.now_ms
        house.now_ms = notice.due_at_ms
    settled(house, "delivered")
    assert len({request.headers["Idempotency-Key"] for request in receiver.got}) == 1
    assert len(receiver.got) == 3


def test_what_is_refused_is_a_dead_letter_that_a_person_can_send_again_or_drop(
    house: House, receiver: Receiver
) -> None:
    receiver.answers = lambda _request: 404
    house.add(url=receiver.address)
    house.open()
    house.open()
    house.now_ms += 10_001
    second, first = settled(house, "dead", "dead")
    assert (first.attempts, first.last_error) == (1, "answered 404")
    assert house.service.destinations(VENUE).items[0].dead == 2
    receiver.answers = lambda _request: 200
    house.service.resend(VENUE, int(first.id))
    house.service.drop(VENUE, int(second.id))
    settled(house, "dropped", "delivered")
    for notice in (first, second):
        with pytest.raises(ConflictError):
            house.service.resend(VENUE, int(notice.id))
    with pytest.raises(NotFoundError):
        house.service.drop("elsewhere", int(first.id))


def test_what_does_not_arrive_for_a_day_is_a_dead_letter(house: House, receiver: Receiver) -> None:
    receiver.answers = lambda _request: 500
    house.add(url=receiver.address)
    house.open()
    house.now_ms += 10_001
    tried(house, 1)
    house.now_ms += GIVEN_UP_AFTER_MS
    (notice,) = settled(house, "dead")
    assert (notice.attempts, notice.last_error) == (2, "answered 500")


def test_slow_destination_holds_no_other_up(house: House, receiver: Receiver) -> None:
    release = threading.Event()

    def answers(request: Request) -> int:
        if request.url.endswith("/slow"):
            release.wait(LONGEST_S)
        return 200

    receiver.answers = answers
    house.add("slow", url=f"{receiver.address}/slow")
    house.add("swift", url=f"{receiver.address}/swift")
    for _ in range(3):
        house.open()
    house.now_ms += 10_001
    try:
        wait_until(lambda: len(house.service.notices(VENUE, NoticeState.DELIVERED, "swift", None, 9)) == 3, LONGEST_S)
        assert len([one for one in receiver.got if one.url.endswith("/slow")]) == 1
    finally:
        release.set()
    settled(house, *["delivered"] * 6)


def test_heartbeat_goes_out_while_the_hub_is_well(
    house: House, receiver: Receiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(notifier, "HEARTBEAT_S", 0.1)
    house.add("alive", kind=DestinationKind.HEARTBEAT, url=f"{receiver.address}/alive")
    wait_until(lambda: len(receiver.got) >= 3, LONGEST_S, "heartbeats")
    house.well = False
    house.add("witness", url=f"{receiver.address}/witness")  # whose notices prove that rounds go on
    house.open()
    house.now_ms += 10_001
    settled(house, "delivered")
    before = len(receiver.got)
    house.open()
    house.now_ms += 10_001
    settled(house, "delivered", "delivered")
    assert [one.method for one in receiver.got[before:]] == ["POST"]


def test_digest_is_sent_once_a_day_at_its_time(house: House, receiver: Receiver) -> None:
    house.add("reader", Route(tells=(Told.OPENED,)), url=receiver.address, digest_at="12:30")  # it is noon
    house.open()
    house.now_ms += 31 * 60_000
    told = {one.about: one.subject for one in settled(house, "delivered", "delivered")}
    assert told[About.DIGEST] == "Digest: 1 still open, 1 opened, 0 ended"
    house.now_ms += 23 * 3_600_000
    house.open()
    house.now_ms += 10_001
    settled(house, *["delivered"] * 3)  # the day is not over
    house.now_ms += 3_600_000
    settled(house, *["delivered"] * 4)
    assert sum(one.about == "digest" for one in house.service.notices(VENUE, None, None, None, 9)) == 2


@pytest.mark.parametrize(("attempts", "nominal_ms"), [(1, 10_000), (2, 20_000), (5, 160_000), (30, 2_880_000)])
def test_back_off_doubles_up_to_an_hour_and_is_drawn_apart(attempts: int, nominal_ms: int) -> None:
    assert back_off_ms(attempts, 0.5) == nominal_ms
    assert (back_off_ms(attempts, 0.0), back_off_ms(attempts, 1.0)) == (nominal_ms * 0.75, nominal_ms * 1.25)
    assert back_off_ms(10_000, 1.0) <= LONGEST_MS

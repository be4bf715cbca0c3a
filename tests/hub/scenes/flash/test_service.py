import threading
import time

import pytest
from sqlalchemy import Engine
from sqlmodel import Session, select

from hub.errors import NotFoundError, UnavailableError
from hub.scenes.flash import FlashReport, service, store
from hub.scenes.flash.check import check_flashes
from hub.scenes.flash.service import FlashService
from hub.scenes.flash.store import FlashStore
from hub.scenes.models import FlashCheck
from schemas import Venue
from tests.hub.conftest import on_each_database
from tests.hub.desired.venues import row_venue
from tests.hub.rollout.conftest import HeldVenues
from tests.processes import wait_until


class Counted:
    """`check_flashes`, and how often it was asked for which scene."""

    def __init__(self) -> None:
        self.scenes: list[str] = []
        self.may_end = threading.Event()
        self.may_end.set()

    def __call__(self, *arguments: object, **named: object) -> FlashReport:
        self.scenes.append(arguments[1].id)  # type: ignore[attr-defined]
        assert self.may_end.wait(10)
        return check_flashes(*arguments, **named)  # type: ignore[arg-type]


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> Counted:
    counted = Counted()
    monkeypatch.setattr(service, "check_flashes", counted)
    return counted


def _with_title(venue: Venue, title: str) -> Venue:
    return venue.model_copy(update={"title": title, "time_zone": "Asia/Tokyo"})


def test_report_is_made_once_for_a_venue_that_is_equal_in_what_it_rests_on(engine: Engine, counted: Counted) -> None:
    held = HeldVenues(row_venue())
    checks = FlashService(held, FlashStore(engine))
    first = checks.report("arcade", "dusk")
    held.venues["arcade"] = _with_title(row_venue(), "Another title")
    assert checks.report("arcade", "dusk") == first
    assert counted.scenes == ["dusk"]
    assert checks.report("arcade", "dusk", distance_m=9.0).distance_m == 9.0
    held.venues["arcade"] = row_venue(nodes=2)
    checks.report("arcade", "dusk")
    assert counted.scenes == ["dusk"] * 3


def test_two_who_ask_at_once_wait_for_one_check(engine: Engine, counted: Counted) -> None:
    checks = FlashService(HeldVenues(row_venue()), FlashStore(engine))
    counted.may_end.clear()
    reports: list[FlashReport] = []
    callers = [threading.Thread(target=lambda: reports.append(checks.report("arcade", "dusk"))) for _ in range(3)]
    for caller in callers:
        caller.start()
    wait_until(lambda: counted.scenes, 5.0, "the check to begin")
    counted.may_end.set()
    for caller in callers:
        caller.join(10)
    assert len(reports) == 3
    assert counted.scenes == ["dusk"]


def test_scenes_are_checked_before_anyone_asks(
    engine: Engine, monkeypatch: pytest.MonkeyPatch, counted: Counted
) -> None:
    monkeypatch.setattr(service, "QUIET_S", 0.05)
    held = HeldVenues(row_venue())
    checks = FlashService(held, FlashStore(engine))
    checks.start()
    try:
        wait_until(lambda: counted.scenes == ["dusk", "full-white"], 5.0, "both scenes to be checked")
        checks.report("arcade", "full-white")
        assert counted.scenes == ["dusk", "full-white"]
        held.venues["arcade"] = row_venue(nodes=2)
        checks.venue_changed("arcade")
        wait_until(lambda: len(counted.scenes) == 4, 5.0, "the changed venue to be checked")
    finally:
        checks.stop()


def test_what_is_known_is_told_without_a_check(engine: Engine, counted: Counted) -> None:
    checks = FlashService(HeldVenues(row_venue()), FlashStore(engine))
    scenes = [scene.id for scene in row_venue().scenes]
    assert checks.known("arcade").unchecked == scenes
    assert counted.scenes == []
    report = checks.report("arcade", "dusk")
    known = checks.known("arcade")
    assert known.reports == [report]
    assert known.unchecked == [scene for scene in scenes if scene != "dusk"]
    counted.may_end.clear()
    asking = threading.Thread(target=lambda: checks.report("arcade", scenes[-1]))
    asking.start()
    wait_until(lambda: len(counted.scenes) == 2, 5.0, "a check under way")
    assert scenes[-1] in checks.known("arcade").unchecked
    counted.may_end.set()
    asking.join()
    with pytest.raises(NotFoundError):
        checks.known("nowhere")


def test_failure_is_told_and_not_kept(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    checks = FlashService(HeldVenues(row_venue()), FlashStore(engine))

    def unlucky(*_arguments: object) -> FlashReport:
        raise UnavailableError("not now")

    monkeypatch.setattr(service, "check_flashes", unlucky)
    with pytest.raises(UnavailableError):
        checks.report("arcade", "dusk")
    monkeypatch.setattr(service, "check_flashes", check_flashes)
    assert checks.report("arcade", "dusk").scene == "dusk"


def test_stopping_ends_a_check_under_way(engine: Engine) -> None:
    checks = FlashService(HeldVenues(row_venue()), FlashStore(engine))
    checks.stop()
    with pytest.raises(UnavailableError, match="stopping"):
        checks.report("arcade", "dusk")


def test_reports_in_memory_are_bounded_and_the_database_knows_the_others(
    engine: Engine, monkeypatch: pytest.MonkeyPatch, counted: Counted
) -> None:
    monkeypatch.setattr(service, "REPORTS_KEPT", 2)
    checks = FlashService(HeldVenues(row_venue()), FlashStore(engine))
    for distance_m in (5.0, 6.0, 7.0, 5.0):
        assert checks.report("arcade", "full-white", distance_m).distance_m == distance_m
        assert len(checks._reports) <= 2
    assert len(counted.scenes) == 3


@on_each_database
def test_hub_that_starts_again_knows_what_was_checked(engine: Engine, counted: Counted) -> None:
    first = FlashService(HeldVenues(row_venue()), FlashStore(engine)).report("arcade", "dusk")
    again = FlashService(HeldVenues(row_venue()), FlashStore(engine))
    assert again.known("arcade").reports == [first]
    assert again.report("arcade", "dusk") == first
    assert counted.scenes == ["dusk"]


def test_check_by_other_code_or_one_that_cannot_be_read_is_made_anew(
    engine: Engine, monkeypatch: pytest.MonkeyPatch, counted: Counted
) -> None:
    FlashService(HeldVenues(row_venue()), FlashStore(engine)).report("arcade", "dusk")
    with monkeypatch.context() as changed:
        changed.setattr(service, "code_sha256", lambda: "other")
        FlashService(HeldVenues(row_venue()), FlashStore(engine)).report("arcade", "dusk")
    assert counted.scenes == ["dusk"] * 2
    with Session(engine) as session:
        for row in session.exec(select(FlashCheck)):
            row.report = "{}"
            session.add(row)
        session.commit()
    assert FlashService(HeldVenues(row_venue()), FlashStore(engine)).report("arcade", "dusk").scene == "dusk"
    assert counted.scenes == ["dusk"] * 3


@on_each_database
def test_database_keeps_the_newest_checks(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(store, "MOST_KEPT", 3)
    kept = FlashStore(engine)
    report = check_flashes(row_venue(), row_venue().scenes[0])
    for number in range(6):
        kept.keep(f"{number:064d}", report)
        time.sleep(0.002)  # the newest are told by the millisecond
    with Session(engine) as session:
        assert {row.sha256[-1] for row in session.exec(select(FlashCheck))} == {"3", "4", "5"}


def test_unknown_venue_and_scene_are_not_found(engine: Engine) -> None:
    checks = FlashService(HeldVenues(row_venue()), FlashStore(engine))
    for venue, scene in (("nowhere", "dusk"), ("arcade", "noon")):
        with pytest.raises(NotFoundError):
            checks.report(venue, scene)

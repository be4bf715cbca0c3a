"""History in a real database: the same figures from the journal and from blocks, nothing lost or doubled, bounded."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from sqlalchemy import Engine, func, select

from hub.history import HistoryLevel, Quantity, SubjectKind
from hub.history.levels import DAY_MS, HOUR_MS
from hub.history.models import HistoryBlock, HistoryJournal
from tests.hub.conftest import on_each_database
from tests.hub.energy.told import FIRST, SECOND, SUPPLY, VENUE
from tests.hub.history.told import INTERVAL_S, NOON_S, Played, drawing
from tests.processes import wait_until

pytestmark = on_each_database
HOUR_S = 3_600
DAY_S = 24 * HOUR_S


def rows(engine: Engine, table: type[HistoryBlock] | type[HistoryJournal]) -> int:
    with engine.connect() as connection:
        return connection.execute(select(func.count()).select_from(table)).scalar_one()


def tell_hours(played: Played, hours: int, from_s: float = NOON_S) -> None:
    """A message every five seconds; amps rise from 0 by 0.01 A a message within each hour."""
    for number in range(hours * 720):
        played.tell(from_s + number * INTERVAL_S, **drawing(amps=number % 720 / 100))
        if number % 60 == 59:
            played.service.write()


def test_closing_an_hour_changes_no_figure(engine: Engine) -> None:
    played = Played(engine)
    tell_hours(played, 3)
    wanted = [(NOON_S, NOON_S + HOUR_S, 200), (NOON_S, NOON_S + 3 * HOUR_S, 150), (NOON_S, NOON_S + 3 * HOUR_S, 4)]
    before = [played.series(first, last, points=points) for first, last, points in wanted]
    assert [one.level for one in before] == [HistoryLevel.RAW, HistoryLevel.MINUTE, HistoryLevel.HOUR]
    assert played.close_all() == 2  # the third hour may go on
    assert rows(engine, HistoryBlock) == 2 + 2 + 1
    for old, (first, last, points) in zip(before, wanted, strict=True):
        new = played.series(first, last, points=points)
        for part in ("low", "mean", "high"):
            was, now = (getattr(one.bands[Quantity.AMPS], part) for one in (old, new))
            np.testing.assert_allclose(now, was, atol=0.0101)
    low, mean, high = (getattr(before[2].bands[Quantity.AMPS], part)[0] for part in ("low", "mean", "high"))
    assert (low, high) == pytest.approx((0.0, 7.19))
    assert mean == pytest.approx(3.595, abs=0.01)


def test_points_are_evenly_spaced_and_empty_where_nothing_was_told(engine: Engine) -> None:
    played = Played(engine)
    for at_s in (NOON_S, NOON_S + 100):
        played.tell(at_s, **drawing(amps=2.0))
    played.service.write()
    found = played.series(NOON_S, NOON_S + 120)
    assert (found.level, found.period_ms) == (HistoryLevel.RAW, 15_000)
    assert np.diff(found.at_ms).tolist() == [15_000] * 7
    assert [place for place, value in enumerate(found.bands[Quantity.AMPS].mean) if not math.isnan(value)] == [0, 6]


def test_late_word_for_a_closed_hour_joins_it(engine: Engine) -> None:
    played = Played(engine)
    played.tell(NOON_S + 10, **drawing(amps=1.0))
    played.now_s = NOON_S + 2 * HOUR_S
    played.service.write()
    assert played.close_all() == 1
    played.tell(NOON_S + 20, **drawing(amps=3.0))
    played.service.write()
    for _ in range(2):
        for points in (200, 2):
            band = played.series(NOON_S, NOON_S + HOUR_S, points=points).bands[Quantity.AMPS]
            assert (np.nanmin(band.low), np.nanmax(band.high)) == (1.0, 3.0)
        played.close_all()
    assert rows(engine, HistoryJournal) == 0


def test_what_fails_while_an_hour_is_closed_changes_nothing(engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    played = Played(engine)
    tell_hours(played, 1)
    played.now_s = NOON_S + 2 * HOUR_S
    journal = rows(engine, HistoryJournal)
    with monkeypatch.context() as broken:
        broken.setattr("hub.history.closing.delete_part", lambda *_: 1 / 0)
        assert not played.service.close_hours()
    assert (rows(engine, HistoryBlock), rows(engine, HistoryJournal)) == (0, journal)
    assert played.close_all() == 1
    assert (rows(engine, HistoryBlock), rows(engine, HistoryJournal)) == (3, 0)


def test_supply_and_venue_are_sampled_from_their_nodes(engine: Engine) -> None:
    played = Played(engine)
    played.pass_time(NOON_S + 2)
    played.tell(NOON_S + 2, FIRST, **drawing(amps=1.5, highest_a=2.0))
    played.tell(NOON_S + 2, SECOND, **drawing(amps=0.5, highest_a=1.0, scale=0.75))
    played.pass_time(NOON_S + 6)
    played.fleet.nodes[VENUE, SECOND].online = False
    played.pass_time(NOON_S + 40)  # the first one's word is too old by then
    played.service.write()
    supply = played.series(
        NOON_S, NOON_S + 45, Quantity.AMPS, Quantity.HIGHEST_AMPS, Quantity.LIMITER_SCALE, Quantity.BUDGET,
        kind=SubjectKind.SUPPLY, subject=SUPPLY,
    ).bands  # fmt: skip
    assert (supply[Quantity.AMPS].high[0], supply[Quantity.AMPS].low[0]) == (2.0, 1.5)
    assert supply[Quantity.HIGHEST_AMPS].high[0] == 3.0
    assert supply[Quantity.LIMITER_SCALE].low[0] == 0.75
    assert supply[Quantity.BUDGET].mean[0] == 8.0
    assert math.isnan(supply[Quantity.AMPS].mean[2])
    venue = played.series(
        NOON_S, NOON_S + 45, Quantity.AMPS, Quantity.NODES_ONLINE, kind=SubjectKind.VENUE, subject=VENUE
    ).bands
    assert venue[Quantity.AMPS].high[0] == 2.0
    assert (venue[Quantity.NODES_ONLINE].high[0], venue[Quantity.NODES_ONLINE].high[2]) == (2.0, 1.0)


def test_share_of_messages_heard_by_the_minute(engine: Engine) -> None:
    played = Played(engine)
    played.pass_time(NOON_S + 60)  # not seen from its beginning
    played.service.write()
    for number in range(36):
        if number % 12 not in (3, 4, 9) or number >= 24:
            played.tell(played.now_s, FIRST, sequence=number)
        played.pass_time(played.now_s + 5)
        played.service.write()
    first = played.series(NOON_S, played.now_s, Quantity.HEARD)
    second = played.series(NOON_S, played.now_s, Quantity.HEARD, subject=SECOND)
    assert first.period_ms == 60_000
    assert first.bands[Quantity.HEARD].mean[:4].tolist() == pytest.approx([math.nan, 9 / 12, 9 / 12, 1.0], nan_ok=True)
    assert second.bands[Quantity.HEARD].mean[1:4].tolist() == [0.0, 0.0, 0.0]


def test_levels_are_kept_each_for_its_time(engine: Engine) -> None:
    played = Played(engine)
    tell_hours(played, 1)
    played.service.write()
    played.now_s = NOON_S + 2 * HOUR_S
    played.close_all()
    hour = (NOON_S, NOON_S + HOUR_S)
    for later, left, level in [
        (timedelta(hours=3), 3, HistoryLevel.RAW),
        (timedelta(days=2), 2, HistoryLevel.MINUTE),
        (timedelta(days=40), 1, HistoryLevel.HOUR),
        (timedelta(days=3_700), 0, HistoryLevel.HOUR),
    ]:
        played.now_s = NOON_S + later.total_seconds()
        played.service._next_purge_s = dict.fromkeys(HistoryLevel, 0.0)
        played.service.forget()
        assert rows(engine, HistoryBlock) == left
        found = played.series(*hour, points=200)
        assert found.level is level
        assert np.isnan(found.bands[Quantity.AMPS].mean).all() == (left == 0)


def test_coarsest_level_that_fills_the_points_is_read(engine: Engine) -> None:
    played = Played(engine)
    for span_s, points, level in [
        (HOUR_S, 200, HistoryLevel.RAW),
        (HOUR_S, 60, HistoryLevel.MINUTE),
        (DAY_S, 500, HistoryLevel.MINUTE),
        (7 * DAY_S, 1_000, HistoryLevel.MINUTE),
        (30 * DAY_S, 1_000, HistoryLevel.HOUR),
        (30 * DAY_S, 2_000, HistoryLevel.MINUTE),
        (365 * DAY_S, 2_000, HistoryLevel.HOUR),
        (3_000 * DAY_S, 2, HistoryLevel.HOUR),
    ]:
        found = played.series(NOON_S - span_s + 1.234, NOON_S, points=points)
        assert found.level is level
        assert 1 <= len(found.at_ms) <= points
        assert found.at_ms[0] <= found.from_ms < found.at_ms[0] + found.period_ms
        assert found.at_ms[-1] < found.until_ms <= found.at_ms[-1] + found.period_ms


def test_database_that_fails_for_a_while_costs_nothing(engine: Engine) -> None:
    played = Played(engine, now_s=datetime.now(UTC).timestamp())
    with engine.begin() as connection:
        connection.exec_driver_sql("ALTER TABLE history_journal RENAME TO hidden")
    played.tell(played.now_s, FIRST)
    played.service.write()
    assert (played.service.stored, played.service.waiting) == (0, 1)
    with engine.begin() as connection:
        connection.exec_driver_sql("ALTER TABLE hidden RENAME TO history_journal")
    played.service.start()
    played.tell(played.now_s, SECOND)
    wait_until(lambda: played.service.stored == 2, 5)
    played.service.stop()
    assert (played.service.waiting, played.service.dropped) == (0, 0)


def test_what_waits_is_bounded_and_what_finds_no_room_is_counted(
    engine: Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("hub.history.gathering.MAX_WAITING", 10)
    monkeypatch.setattr("hub.history.service.MAX_UNWRITTEN", 15)
    monkeypatch.setattr("hub.history.service.add_to_journal", lambda *_: 1 / 0)
    played = Played(engine)
    for _ in range(2):
        for number in range(25):
            played.tell(NOON_S + number)
        played.service.write()
    assert (played.service.waiting, played.service.dropped) == (10, 2 * 15 + 10)
    monkeypatch.undo()
    played.service.write()
    assert (played.service.stored, played.service.waiting) == (10, 0)


def test_day_holds_all_its_hours_however_they_are_closed(engine: Engine) -> None:
    played = Played(engine)
    midnight_s = NOON_S - 12 * HOUR_S
    for hour in (5, 3, 30, 4):
        played.tell(midnight_s + hour * HOUR_S, **drawing(amps=float(hour)))
        played.service.write()
        played.now_s = midnight_s + 40 * HOUR_S
        played.close_all()
    found = played.series(midnight_s, midnight_s + 40 * HOUR_S, points=41)
    assert (found.level, found.period_ms) == (HistoryLevel.HOUR, HOUR_MS)
    told = {place: value for place, value in enumerate(found.bands[Quantity.AMPS].mean) if not math.isnan(value)}
    assert told == {3: 3.0, 4: 4.0, 5: 5.0, 30: 30.0}
    assert found.at_ms[0] % DAY_MS == 0

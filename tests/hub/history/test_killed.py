"""A history killed while it writes and closes hours: what was stored is there, once, and what was not is the end."""

import multiprocessing
import random
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np

from hub.database import open_database, open_engine
from hub.history import HistoryLevel, Quantity
from tests.hub.history.told import INTERVAL_S, NOON_S, Played, drawing

KILLS = 3
HOUR_S = 3_600


def run(url: str, first: int, told: Connection) -> None:
    """Tells message after message, as fast as it can, from number `first`; says how many are stored."""
    played = Played(open_engine(url), now_s=NOON_S + first * INTERVAL_S)
    number = first
    while True:
        for _ in range(60):
            played.tell(NOON_S + number * INTERVAL_S, **drawing(amps=number % 7))
            number += 1
        played.service.write()
        told.send(number)
        played.service.close_hours()


def test_killed_at_any_moment_nothing_that_was_stored_is_lost_or_doubled(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'hub.sqlite3'}"
    open_database(url).dispose()
    context, chance, stored = multiprocessing.get_context("fork"), random.Random(1), 0
    for _ in range(KILLS):
        ours, theirs = context.Pipe()
        writer = context.Process(target=run, args=(url, stored, theirs))
        writer.start()
        theirs.close()
        enough = stored + chance.randrange(1_500, 2_500)
        while stored < enough:
            stored = ours.recv()
        writer.kill()
        writer.join()
        while ours.poll():
            try:
                stored = ours.recv()
            except EOFError:
                break
        stored = check(url, stored)


def check(url: str, stored: int) -> int:
    """How many messages are there: those that were told to be stored, or a write more."""
    played = Played(open_engine(url), now_s=NOON_S + stored * INTERVAL_S)
    with played.engine.connect() as connection:
        assert connection.exec_driver_sql("PRAGMA integrity_check").scalar_one() == "ok"
    hours = range(int((stored + 120) * INTERVAL_S // HOUR_S) + 1)
    found = [
        played.series(NOON_S + hour * HOUR_S, NOON_S + (hour + 1) * HOUR_S, Quantity.AMPS, points=241) for hour in hours
    ]
    assert {one.level for one in found} == {HistoryLevel.RAW}
    # Three messages to a point: the mean is wrong where one is missing or there twice.
    means = np.concatenate([one.bands[Quantity.AMPS].mean for one in found])
    there = int(np.flatnonzero(~np.isnan(means))[-1] + 1) * 3
    assert stored <= there <= stored + 60
    expected = (np.arange(there) % 7).reshape(-1, 3).mean(axis=1)
    np.testing.assert_allclose(means[: there // 3], expected, atol=1e-6)
    played.engine.dispose()
    return there

"""Flash checks that one test has made, for all the others of a run: each is worth seconds, and they are the same.

They are kept by the product's own hash of all that a check rests on, in a database that the workers share.
"""

import os
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import Engine

from hub.database import migrate, open_engine
from hub.scenes.flash import FlashReport
from hub.scenes.flash.service import FlashService
from hub.scenes.flash.store import FlashStore
from schemas import Venue

COPY = "INSERT OR IGNORE INTO flash_check SELECT * FROM other.flash_check"


class KnownFlashes:
    """The reports so far."""

    def __init__(self, folder: Path) -> None:
        self._file = folder / "known-flashes.sqlite3"
        self._file.touch()
        self._engine = _with_tables(self._file)

    def report(self, venue: Venue, scene: str) -> FlashReport:
        """Of a scene of the venue, made now if it is not known."""
        return FlashService(_OneVenue(venue), FlashStore(self._engine)).report(venue.id, scene)

    def hand_to(self, data_dir: Path) -> None:
        """To a hub that has not been started yet."""
        data_dir.mkdir(parents=True, exist_ok=True)
        _with_tables(data_dir / "hub.sqlite3").dispose()
        _copy(self._file, data_dir / "hub.sqlite3")

    def take_from(self, data_dir: Path) -> None:
        """From a hub that has stopped."""
        _copy(data_dir / "hub.sqlite3", self._file)


class _OneVenue:
    def __init__(self, venue: Venue) -> None:
        self._venue = venue

    def venue_ids(self) -> list[str]:
        return [self._venue.id]

    def venue(self, venue: str) -> Venue:  # noqa: ARG002 (there is but one)
        return self._venue


def known_flashes_of_run(factory: pytest.TempPathFactory) -> KnownFlashes:
    own = factory.getbasetemp()
    return KnownFlashes(own.parent if "PYTEST_XDIST_WORKER" in os.environ else own)


def _with_tables(file: Path) -> Engine:
    engine = open_engine(f"sqlite:///{file}")
    migrate(engine)
    return engine


def _copy(source: Path, target: Path) -> None:
    with closing(sqlite3.connect(target, timeout=30)) as database, database:
        database.execute("ATTACH DATABASE ? AS other", (str(source),))
        database.execute(COPY)

"""A hub's rollout half on a real database and the real fleet loop, to be killed and opened again."""

import sqlite3
import time
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from sqlmodel import SQLModel

from hub.database import open_engine
from hub.errors import NotFoundError
from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.rollout import RolloutService, RolloutTiming, RolloutView
from hub.rollout.flash_guard import FlashFound
from hub.rollout.models import RolloutState
from schemas import Scene, Venue
from tests.hub.desired.venues import row_venue
from tests.hub.rollout.boards import Boards
from tests.processes import wait_until

QUICK = RolloutTiming(answer_s=1.5, limit_s=4.0, restage_s=0.2, margin_s=0.25, settle_s=0.0, longest_settle_s=0.2)


class HeldVenues:
    """Venues as an inventory hands them out."""

    def __init__(self, *venues: Venue) -> None:
        self.venues = {venue.id: venue for venue in venues}

    def venue_ids(self) -> list[str]:
        return list(self.venues)

    def venue(self, venue: str) -> Venue:
        if venue not in self.venues:
            raise NotFoundError("venue", venue)
        return self.venues[venue]


class HubHalf:
    """`open` starts it on what the database holds; `kill` ends it at once; `close` at the end of the test."""

    def __init__(self, database: Path, inventory: HeldVenues, boards: Boards) -> None:
        self.inventory, self.boards = inventory, boards
        self._database = database
        self.telemetry_interval_s = 5.0
        self.timing = QUICK
        self.failing_scenes: set[str] = set()
        self.unchecked_scenes: set[str] = set()
        self.later_s = 0.0

    def open(self) -> None:
        self.engine = open_engine(f"sqlite:///{self._database}")
        SQLModel.metadata.create_all(self.engine)
        self.events = EventBus()
        self.fleet = FleetLoop(self.now_s)
        self.boards.clock = self.now_s
        self.rollouts = RolloutService(
            self.engine,
            self.inventory,
            self.fleet,
            self.events,
            self.telemetry_interval_s,
            self.judge_flashes,
            self.timing,
            flashes_known=self.flashes_known,
        )
        self.boards.dies_after = None
        self.fleet.attach(self.boards)
        self.fleet.add_listener(self.rollouts)
        for venue in self.inventory.venues.values():
            self.fleet.set_roster(venue.id, [node.id for node in venue.nodes])
        self.rollouts.start()
        self.fleet.start()
        self.boards.connect(self.fleet.inbox)
        self.fleet.link_changed(True)

    def now_s(self) -> float:
        """The hub's clock: `later_s` moves it on."""
        return time.time() + self.later_s

    def flashes_known(self, venue: Venue, scene: Scene) -> FlashFound | None:
        return None if scene.id in self.unchecked_scenes else self.judge_flashes(venue, scene)

    def judge_flashes(self, venue: Venue, scene: Scene) -> FlashFound:  # noqa: ARG002
        """What tests say fails, fails."""
        self.unchecked_scenes.discard(scene.id)
        if scene.id in self.failing_scenes:
            return FlashFound(True, "fails: general flashes", 0.5)
        return FlashFound(False, "passes", 1.0)

    def kill_at_message(self, number: int) -> None:
        """Die instead of sending message `number` from now (0 is the next), with the database as it is then."""
        image = self._database.with_name(f"killed-{len(self.boards.published)}.sqlite3")

        def keep_database() -> None:
            with closing(sqlite3.connect(self._database)) as source, closing(sqlite3.connect(image)) as target:
                source.backup(target)
            self._database = image

        self.boards.at_death = keep_database
        self.boards.dies_after = len(self.boards.published) + number

    def kill(self) -> None:
        """Die now: nothing that the hub says from here on reaches anyone, and the database is as it is."""
        with self.boards.held():
            self.kill_at_message(0)
            at_death, self.boards.at_death = self.boards.at_death, lambda: None
            at_death()

    @property
    def is_killed(self) -> bool:
        return self._database.name.startswith("killed")

    def spoil_snapshot(self, revision: int) -> None:
        """Make unreadable what a revision was compiled from, as a later version's bounds might."""
        chosen = "SELECT snapshot_sha256 FROM rollout WHERE revision = ?"
        with closing(sqlite3.connect(self._database)) as database:
            database.execute(f"UPDATE venue_snapshot SET document = '{{}}' WHERE sha256 = ({chosen})", (revision,))  # noqa: S608
            database.commit()

    def open_again(self) -> None:
        self.close()
        self.open()

    def close(self) -> None:
        self.rollouts.stop()
        self.fleet.stop()
        self.engine.dispose()

    def ended(self, revision: int | None = None, *, within_s: float = 5.0) -> RolloutView:
        """The rollout (the newest one without `revision`) once it is no longer being staged."""

        def look() -> RolloutView | None:
            page = self.rollouts.page("arcade", None, 5)
            for view in page:
                if view.revision == (revision or view.revision) and view.state is not RolloutState.STAGING:
                    return view
            return None

        view = wait_until(look, within_s, "the rollout to end")
        assert view is not None
        return view

    def wait_until_shown(self, revision: int, *nodes: str) -> None:
        boards = [self.boards.boards[node] for node in nodes] or list(self.boards.boards.values())

        def shown() -> bool:
            return all(board.showing is not None and board.showing.revision == revision for board in boards)

        wait_until(shown, 8.0, f"revision {revision} to show on every board")

    def wait_until_free(self) -> None:
        wait_until(lambda: self.rollouts.under_way("arcade") is None, 5.0, "the rollout's take time")


@pytest.fixture
def hub(tmp_path: Path) -> Iterator[HubHalf]:
    venue = row_venue(nodes=3)
    half = HubHalf(tmp_path / "hub.sqlite3", HeldVenues(venue), Boards("arcade", [node.id for node in venue.nodes]))
    half.open()
    try:
        yield half
    finally:
        half.close()

"""The hub's own fleet loop, listeners and findings over a real database, driven in simulated time."""

import random
from dataclasses import dataclass
from pathlib import Path

from sqlmodel import Session, col, select

from hub.database import open_database
from hub.events.bus import EventBus
from hub.fleet.inbox import Message
from hub.fleet.lifeline import Lifeline
from hub.fleet.loop import FleetLoop
from hub.fleet.rebirth import Rebirth
from hub.fleet.roster import Roster
from hub.health.models import Finding
from hub.health.service import HealthService
from hub.inventory.service import InventoryService
from hub.notify import NotifyService
from hub.notify.destination import DestinationKind, NewDestination
from hub.notify.making import NoticeMaker
from hub.notify.models import Notice
from hub.notify.notice import About
from schemas import Leaf
from tests.fleet.agenda import Agenda
from tests.fleet.board import INTERVAL_S, SimulatedBoard
from tests.fleet.broker import SimulatedBroker
from tests.fleet.venue import VENUE, simulated_venue

START_S = 1_800_000_000.0
TICK_S = 0.5
NOTICES_EVERY_S = 2.0


@dataclass
class SimulatedFleet:
    """A venue of boards with its hub. `loss_share` of all messages vanish on their way."""

    folder: Path
    nodes: int
    loss_share: float = 0.01
    seed: int = 1

    def __post_init__(self) -> None:
        self.agenda = Agenda(START_S)
        self.broker = SimulatedBroker(self.agenda, random.Random(self.seed), self.loss_share)
        self.boards = [
            SimulatedBoard(number, self.agenda, self.broker, self.seed * 100_003 + number)
            for number in range(self.nodes)
        ]
        self.engine = open_database(f"sqlite:///{self.folder / 'hub.sqlite3'}")
        self.loop = FleetLoop(lambda: self.agenda.now_s)
        self.loop.attach(self.broker)
        self.health = HealthService(
            self.engine,
            self.loop,
            EventBus(),
            telemetry_interval_s=INTERVAL_S,
            desired_revision=lambda _venue, _node: 1,
        )
        self.loop.add_listener(Rebirth(self.loop), (Leaf.PRESENCE,))
        self.loop.add_listener(Lifeline(self.loop, INTERVAL_S), ())
        self.loop.add_listener(self.health)
        roster, venue = Roster(self.loop), simulated_venue(self.nodes)
        roster.venue_changed(venue)
        self.health.venue_changed(venue)
        inventory = InventoryService(self.engine)
        inventory.load(venue)
        # Nothing is sent: what counts is what would be.
        desk = NewDestination(id="desk", title="Desk", kind=DestinationKind.WEBHOOK, url="http://127.0.0.1:9/")
        NotifyService(self.engine, inventory, self.health, lambda: True, lambda: self.agenda.now_s).add(VENUE, desk)
        self._notices = NoticeMaker(self.engine, self.health, inventory)
        self.broker.deliver = self._deliver
        self.broker.link_changed = self._link_changed
        self.broker.connect_hub()
        for board in self.boards:
            self.agenda.after(random.Random(board.node).uniform(0, 10), board.start)
        self.agenda.every(TICK_S, self._tick)
        self.agenda.every(NOTICES_EVERY_S, self._make_notices)

    def run_for(self, seconds: float) -> None:
        self.agenda.run_until(self.agenda.now_s + seconds)

    def findings(self) -> list[Finding]:
        with Session(self.engine) as session:
            return list(session.exec(select(Finding)))

    def told(self) -> list[tuple[Notice, Finding]]:
        """What somebody was told of: findings that began, in the order of the notices."""
        query = (
            select(Notice, Finding)
            .where(Notice.about == About.OPENED, Finding.id == Notice.finding)
            .order_by(col(Notice.id))
        )
        with Session(self.engine) as session:
            return list(session.exec(query))

    def close(self) -> None:
        self.engine.dispose()

    # The loop's own thread does these in a running hub, by its clock; here time is the agenda's.
    def _deliver(self, message: Message) -> None:
        applied = self.loop._intake.apply(message)
        if applied is not None:
            if applied.is_back:
                self.loop.announce(applied.node, Leaf.PRESENCE, message.received_at_s)
            self.loop.announce(applied.node, applied.leaf, message.received_at_s)

    def _link_changed(self, connected: bool) -> None:
        self.loop.link_changed(connected)
        self._calls()

    def _tick(self) -> None:
        self._calls()
        self.loop._tick()

    def _make_notices(self) -> None:
        while self._notices.make(int(self.agenda.now_s * 1_000)):
            pass

    def _calls(self) -> None:
        for call in self.loop.inbox.take(0)[1]:
            call()

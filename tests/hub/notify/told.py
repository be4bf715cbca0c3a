"""A venue whose findings open and end as the hub's own ledger writes them, and notification over them, at a time that
the test sets."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count

from sqlalchemy import Engine, delete
from sqlmodel import Session, col, select

from hub.events.bus import EventBus
from hub.fleet.loop import FleetLoop
from hub.health.kinds import CauseKind, FindingKind, Severity
from hub.health.ledger import Ledger
from hub.health.models import Finding, FindingChange
from hub.health.service import HealthService
from hub.health.table import FindingTable
from hub.inventory.service import InventoryService
from hub.notify.destination import DestinationKind, NewDestination, Route
from hub.notify.making import NoticeMaker, Settling
from hub.notify.models import Cursor, Destination, Notice
from hub.notify.service import NotifyService
from hub.notify.view import MadeDestination
from tests.hub.desired.venues import row_venue
from tests.hub.health.invented_findings import invented_finding

VENUE = "arcade"
NOON_MS = 1_935_576_000_000  # 2031-05-03 12:00 UTC, a Saturday
NODES = ("bay-0001", "bay-0002", "bay-0003")
_numbers = count(1)


@dataclass
class House:
    """A database whose earlier house is gone. `now_ms` is the time everywhere.

    Notices are made by `make`, or by the service's own thread once it is started.
    """

    engine: Engine
    now_ms: int = NOON_MS

    def __post_init__(self) -> None:
        with Session(self.engine) as session:
            for table in (Notice, Destination, Cursor, FindingChange, Finding):
                session.execute(delete(table))
            session.commit()
        self.inventory = InventoryService(self.engine)
        self.inventory.load(row_venue(nodes=3))
        self.table = FindingTable(self.engine)
        self.health = HealthService(
            self.engine, FleetLoop(), EventBus(), telemetry_interval_s=5.0, desired_revision=lambda _venue, _node: None
        )
        self.well = True
        self.service = NotifyService(
            self.engine, self.inventory, self.health, lambda: self.well, clock=lambda: self.now_ms / 1_000
        )

    def add(
        self,
        destination: str = "desk",
        *routes: Route,
        kind: DestinationKind = DestinationKind.WEBHOOK,
        url: str = "http://127.0.0.1:9/",
        digest_at: str | None = None,
    ) -> MadeDestination:
        wanted = NewDestination(
            id=destination, title=destination, kind=kind, url=url, routes=routes or None, digest_at=digest_at
        )
        return self.service.add(VENUE, wanted)

    def make(self, after_ms: int = Settling().opened_ms + 1) -> None:
        """Let time pass, then make all notices that there are to make, by a maker that has just been started."""
        self.now_ms += after_ms
        maker = NoticeMaker(self.engine, self.health, self.inventory)
        while maker.make(self.now_ms):
            pass

    def open(self, node: str = NODES[0], severity: Severity = Severity.WARNING) -> int:
        """A finding of a subject of its own."""
        finding = invented_finding(VENUE, FindingKind.SILENT, node, self.now_ms)
        finding.subject, finding.severity = f"{node}-{next(_numbers)}", severity
        return self._opened(finding)

    def open_parent(self, members: list[int], supply: str = "psu-bay-0001") -> int:
        """A finding that stands for others."""
        finding = invented_finding(VENUE, FindingKind.SILENT, NODES[0], self.now_ms)
        finding.subject, finding.node = f"cause:supply:{supply}-{next(_numbers)}", None
        finding.cause_kind, finding.cause = CauseKind.SUPPLY, supply
        parent = self._opened(finding)
        with self.changing(*members) as ledger:
            for member in members:
                ledger.fold(member, parent)
        return parent

    def end(self, finding: int) -> None:
        with self.changing(finding) as ledger:
            ledger.end(finding)

    def reopen(self, finding: int) -> None:
        with self.changing(finding) as ledger:
            ledger.reopen(finding, ledger.findings[finding])

    @contextmanager
    def changing(self, *findings: int) -> Iterator[Ledger]:
        """A transaction over these findings, now."""
        with self.table.ledger(self.now_ms) as ledger:
            ledger.read(findings)
            yield ledger

    def mute(self, finding: int) -> None:
        with self.changing(finding) as ledger:
            ledger.mute(finding, 1, "Ada", "works")

    def notices(self, destination: str | None = None) -> list[tuple[str, str, int | None, str]]:
        """(destination, about, finding, state) of each, oldest first."""
        with Session(self.engine) as session:
            rows = session.exec(select(Notice).order_by(col(Notice.id)))
            return [
                (row.destination, row.about, row.finding, row.state)
                for row in rows
                if destination in (None, row.destination)
            ]

    def _opened(self, finding: Finding) -> int:
        with self.table.ledger(self.now_ms) as ledger:
            ledger.open([finding])
        return finding.id or 0

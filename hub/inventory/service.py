"""The inventory: whole venues in and out, their items one by one, and word of every change."""

import logging
import threading
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeVar

from sqlalchemy import ColumnElement, Connection, Engine, delete, insert, select, update
from sqlalchemy.exc import IntegrityError

from hub.api.etag import Precondition, etag_of
from hub.errors import ConflictError, InvalidError, Mistake, NotFoundError
from hub.inventory.kinds import ZONES, Kind
from hub.inventory.rows import TABLES, VENUE, Rows, TablesOfItem, add_rows, read_venue_rows, venue_row
from hub.inventory.summary import VenueSummary, venue_summaries
from hub.venue_file.checking import require_consistent
from hub.venue_file.difference import Change, difference
from hub.venue_file.fault import Unreadable
from hub.venue_file.index import VenueIndex
from hub.venue_file.zone_checks import leaves_of
from schemas.contract import Contract
from schemas.venue import Venue

MOST_ATTEMPTS = 10
DELETED_AT_ONCE = 5_000  # below SQLite's limit of 32,766 parameters in a statement
ChangeListener = Callable[[str], None]
T = TypeVar("T", bound=Contract)
_log = logging.getLogger(__name__)


class InventoryService:
    """Reads and writes venues. Every write is one transaction, and leaves a venue without mistakes or as it was.

    Several threads and several processes may use one database: each write states the version that it started from.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._listeners: list[ChangeListener] = []
        self._read: dict[str, tuple[int, Venue]] = {}
        self._writing = threading.Lock()

    def on_change(self, listener: ChangeListener) -> None:
        """Call `listener(venue_id)` after each change, on the thread that made it."""
        self._listeners.append(listener)

    def venue_ids(self) -> list[str]:
        with self._engine.connect() as connection:
            return list(connection.scalars(select(VENUE.c.id).order_by(VENUE.c.id)))

    def venue(self, venue: str) -> Venue:
        """The whole venue as it is now. Raises NotFoundError."""
        return self._versioned(venue)[1]

    def summaries(self) -> list[VenueSummary]:
        """Every venue with the number of its parts, by id."""
        with self._engine.connect() as connection:
            return venue_summaries(connection)

    def preview_load(self, venue: Venue, precondition: Precondition | None = None) -> list[Change]:
        """What `load` would change; raises what it would raise, and changes nothing."""
        require_consistent(venue)
        try:
            before = self.venue(venue.id)
        except NotFoundError:
            before = None
        if precondition is not None:
            precondition.check(None if before is None else etag_of(before))
        return difference(before, venue)

    def load(self, venue: Venue, precondition: Precondition | None = None) -> list[Change]:
        """Store a whole venue in the place of what was there, and say what changed.

        Raises InvalidError where the venue has mistakes, StaleError where the precondition does not hold.
        """
        require_consistent(venue)

        def rewrite(before: Venue | None) -> Venue:
            if precondition is not None:
                precondition.check(None if before is None else etag_of(before))
            return venue

        return self._write(venue.id, rewrite)

    def item(self, kind: Kind[T], venue: str, identifier: str) -> T:
        """One item. Raises NotFoundError for the venue or the item."""
        for item in kind.items(self.venue(venue)):
            if kind.id_of(item) == identifier:
                return item
        raise NotFoundError(kind.noun, identifier)

    def find(self, kind: Kind[T], venue: str, *conditions: ColumnElement[bool]) -> list[T]:
        """Items that meet all conditions (see `hub.inventory.search`), in the venue's order. Raises NotFoundError."""
        items = kind.items(self.venue(venue))
        if not conditions:
            return list(items)
        table = TABLES[kind.collection][0][0]
        with self._engine.connect() as connection:
            found = set(connection.scalars(select(table.c.id).where(table.c.venue == venue, *conditions)))
        return [item for item in items if kind.id_of(item) in found]

    def zones_below(self, venue: str, zone: str) -> frozenset[str]:
        """The zones of spans that a zone comes down to; itself for a zone of spans. Raises NotFoundError."""
        return _leaves(self.venue(venue), zone)[zone]

    def scenes_lighting(self, venue: str, zone: str) -> frozenset[str]:
        """Ids of the scenes with a layer over pixels of a zone. Raises NotFoundError."""
        current = self.venue(venue)
        leaves = _leaves(current, zone)
        return frozenset(
            scene.id
            for scene in current.scenes
            if any(not leaves[zone].isdisjoint(leaves[layer.zone]) for layer in scene.layers)
        )

    def put(self, kind: Kind[T], venue: str, item: T, precondition: Precondition) -> bool:
        """Change an item, or add it at the end; True where it was added.

        Raises as `load` does; the whole venue must stay without mistakes. Those of the item itself are named as it was
        sent, such as `body.layers[0].zone`.
        """
        identifier = kind.id_of(item)
        added = False

        def rewrite(before: Venue | None) -> Venue:
            nonlocal added
            current = _existing(before, venue)
            items = kind.items(current)
            places = [place for place, one in enumerate(items) if kind.id_of(one) == identifier]
            precondition.check(etag_of(items[places[0]]) if places else None)
            added = not places
            changed = (*items[: places[0]], item, *items[places[0] + 1 :]) if places else (*items, item)
            try:
                return _with(current, kind, changed)
            except InvalidError as error:
                place = places[0] if places else len(items)
                raise InvalidError(error.detail, _as_sent(error.mistakes, f"{kind.collection}[{place}]")) from error

        self._write(venue, rewrite)
        return added

    def change(self, venue: str, rewrite: Callable[[Venue], Venue]) -> Venue:
        """Put `rewrite(current)` in the venue's place; the venue as it then is.

        `rewrite` may raise, a precondition that does not hold for one, and may be called again where others write at
        the same time. Raises NotFoundError, and InvalidError where the venue would then have a mistake.
        """
        changed: list[Venue] = []

        def checked(before: Venue | None) -> Venue:
            after = rewrite(_existing(before, venue))
            require_consistent(after)
            changed.append(after)
            return after

        self._write(venue, checked)
        return changed[-1]

    def set_master_level(self, venue: str, level: float) -> float:
        """Set the gain of everything that the venue shows; the one before. Raises NotFoundError."""
        was = 1.0

        def rewrite(before: Venue | None) -> Venue:
            nonlocal was
            current = _existing(before, venue)
            was = current.master_level
            return current.model_copy(update={"master_level": level})

        self._write(venue, rewrite)
        return was

    def remove(self, kind: Kind[T], venue: str, identifier: str, precondition: Precondition) -> None:
        """Take an item away. Raises InvalidError where something still refers to it."""

        def rewrite(before: Venue | None) -> Venue:
            current = _existing(before, venue)
            items = kind.items(current)
            found = next((one for one in items if kind.id_of(one) == identifier), None)
            if found is None:
                raise NotFoundError(kind.noun, identifier)
            precondition.check(etag_of(found))
            return _with(current, kind, tuple(one for one in items if one is not found))

        self._write(venue, rewrite)

    def _versioned(self, venue: str) -> tuple[int, Venue]:
        with self._engine.connect() as connection:
            for _ in range(MOST_ATTEMPTS):
                version = _version(connection, venue)
                if version is None:
                    raise NotFoundError("venue", venue)
                known = self._read.get(venue)
                if known is not None and known[0] == version:
                    return known
                found = read_venue_rows(connection, venue)
                # A writer may have come between the queries: then what was read is of two versions.
                if found is not None and _version(connection, venue) == version:
                    self._read[venue] = (version, found)
                    return version, found
        raise ConflictError(f"the venue {venue!r} changes faster than it can be read; try again")

    def _write(self, venue: str, rewrite: Callable[[Venue | None], Venue]) -> list[Change]:
        """Replace the venue by `rewrite(before)`, which may raise; nothing is written then."""
        with self._writing:
            changes = self._write_first(venue, rewrite)
        if changes:
            self._tell(venue)
        return changes

    def _write_first(self, venue: str, rewrite: Callable[[Venue | None], Venue]) -> list[Change]:
        for _ in range(MOST_ATTEMPTS):
            try:
                version, before = self._versioned(venue)
            except NotFoundError:
                version, before = 0, None
            after = rewrite(before)
            changes = difference(before, after)
            if not changes:
                return changes
            try:
                with self._engine.begin() as connection:
                    stored = _store(connection, before, after, version)
            except IntegrityError:
                if before is not None:
                    raise
                continue  # another process made the venue in between
            if stored:
                self._read[venue] = (version + 1, after)
                return changes
        raise ConflictError(f"the venue {venue!r} is being changed by others; try again")

    def _tell(self, venue: str) -> None:
        for listener in self._listeners:
            try:
                listener(venue)
            except Exception:
                # The change stands; one listener's fault must not hide it from the next, nor from the caller.
                _log.exception("a listener failed on the change of venue %s", venue)


def _leaves(venue: Venue, zone: str) -> dict[str, frozenset[str]]:
    leaves = leaves_of(VenueIndex.of(venue, Unreadable()))
    if zone not in leaves:
        raise NotFoundError(ZONES.noun, zone)
    return leaves


def _existing(before: Venue | None, venue: str) -> Venue:
    if before is None:
        raise NotFoundError("venue", venue)
    return before


def _with(venue: Venue, kind: Kind[T], items: tuple[T, ...]) -> Venue:
    """The venue with other items of one kind, checked as a whole: bounds of the contract, then references."""
    most = next(
        constraint.max_length
        for constraint in Venue.model_fields[kind.collection].metadata
        if hasattr(constraint, "max_length")
    )
    if len(items) > most:
        reason = f"a venue may have {most} {kind.collection}"
        raise InvalidError("the venue is full", [Mistake(kind.collection, reason, "remove one first")])
    changed = venue.model_copy(update={kind.collection: items})
    require_consistent(changed)
    return changed


def _as_sent(mistakes: Sequence[Mistake], item: str) -> list[Mistake]:
    """Mistakes of one item by the names that its fields have in the body that brought it."""
    return [
        replace(one, field=f"body{one.field.removeprefix(item)}") if one.field.startswith(item) else one
        for one in mistakes
    ]


def _version(connection: Connection, venue: str) -> int | None:
    return connection.scalar(select(VENUE.c.version).where(VENUE.c.id == venue))


def _store(connection: Connection, before: Venue | None, after: Venue, version: int) -> bool:
    """Write what differs. False where someone else wrote since `version`: then nothing is written."""
    if before is None:
        connection.execute(insert(VENUE), [venue_row(after) | {"version": 1}])
    else:
        # First of all: it takes the write lock and proves that nobody wrote in between.
        claimed = connection.execute(
            update(VENUE)
            .where(VENUE.c.id == after.id, VENUE.c.version == version)
            .values(venue_row(after) | {"version": version + 1})
        )
        if claimed.rowcount != 1:
            return False
    for collection, tables in TABLES.items():
        _store_items(connection, after.id, tables, _placed(before, collection), _placed(after, collection))
    return True


def _placed(venue: Venue | None, collection: str) -> dict[str, tuple[int, Contract]]:
    items = () if venue is None else getattr(venue, collection)
    key = "key" if collection == "pixel_types" else "id"
    return {getattr(item, key): (place, item) for place, item in enumerate(items)}


def _store_items(
    connection: Connection,
    venue: str,
    tables: TablesOfItem,
    before: dict[str, tuple[int, Contract]],
    after: dict[str, tuple[int, Contract]],
) -> None:
    """Delete the rows of items that are gone or changed, insert those of new and changed ones. Foreign keys wait."""
    leaving = [identifier for identifier, placed in before.items() if after.get(identifier) != placed]
    for table, column in reversed(tables):
        for start in range(0, len(leaving), DELETED_AT_ONCE):
            batch = leaving[start : start + DELETED_AT_ONCE]
            connection.execute(delete(table).where(table.c.venue == venue, table.c[column].in_(batch)))
    rows: Rows = {}
    for identifier, (place, item) in after.items():
        if before.get(identifier) != (place, item):
            add_rows(rows, venue, place, item)
    for table, _ in tables:
        if table in rows:
            connection.execute(insert(table), rows[table])

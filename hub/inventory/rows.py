"""Between contracts and rows of the tables: one item to its rows, all rows of a venue to the venue."""

import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any, Final, TypeVar

from pydantic import BaseModel, TypeAdapter
from sqlalchemy import Connection, RowMapping, Table, select
from sqlmodel import SQLModel

from hub.inventory import models
from schemas.contract import Contract
from schemas.pixel_type import PixelType
from schemas.scene import Layer, Scene
from schemas.timetable import CueList, Place, TimetableEntry
from schemas.venue import Channel, Cuts, Feed, Node, Path, Run, Span, Supply, Tariff, Venue, WhiteBalance, Zone

Row = dict[str, Any]
Rows = dict[Table, list[Row]]
TablesOfItem = tuple[tuple[Table, str], ...]


def table_of(model: type[SQLModel]) -> Table:
    table: Table = model.__table__  # type: ignore[attr-defined]  # SQLModel sets it on every table class
    return table


VENUE: Final = table_of(models.VenueRecord)
PIXEL_TYPE: Final = table_of(models.PixelTypeRecord)
SUPPLY: Final = table_of(models.SupplyRecord)
NODE: Final = table_of(models.NodeRecord)
CHANNEL: Final = table_of(models.ChannelRecord)
FEED: Final = table_of(models.FeedRecord)
ZONE: Final = table_of(models.ZoneRecord)
SPAN: Final = table_of(models.SpanRecord)
ZONE_MEMBER: Final = table_of(models.ZoneMemberRecord)
SCENE: Final = table_of(models.SceneRecord)

# Of each collection: the table of its items, then the tables of their parts with the column that names the item.
TABLES: Final[Mapping[str, TablesOfItem]] = {
    "pixel_types": ((PIXEL_TYPE, "id"),),
    "supplies": ((SUPPLY, "id"),),
    "nodes": ((NODE, "id"), (CHANNEL, "node"), (FEED, "node")),
    "zones": ((ZONE, "id"), (SPAN, "zone"), (ZONE_MEMBER, "zone")),
    "scenes": ((SCENE, "id"),),
}
_PATH: Final[TypeAdapter[Path]] = TypeAdapter(Path)
_CUTS: Final[TypeAdapter[Cuts]] = TypeAdapter(Cuts)
_TIMETABLE: Final[TypeAdapter[tuple[TimetableEntry, ...]]] = TypeAdapter(tuple[TimetableEntry, ...])
_CUE_LISTS: Final[TypeAdapter[tuple[CueList, ...]]] = TypeAdapter(tuple[CueList, ...])
_LAYERS: Final[TypeAdapter[tuple[Layer, ...]]] = TypeAdapter(tuple[Layer, ...])


def venue_row(venue: Venue) -> Row:
    """The venue's own row, without its version."""
    return {
        "id": venue.id,
        "title": venue.title,
        "note": venue.note,
        "opening_scene": venue.opening_scene,
        "master_level": venue.master_level,
        "tariff": None if venue.tariff is None else venue.tariff.model_dump_json(),
        "place": None if venue.place is None else venue.place.model_dump_json(),
        "time_zone": venue.time_zone,
        "approves_rollouts": venue.approves_rollouts,
        "timetable": _TIMETABLE.dump_json(venue.timetable).decode(),
        "cue_lists": _CUE_LISTS.dump_json(venue.cue_lists).decode(),
    }


def add_rows(rows: Rows, venue: str, position: int, item: Contract) -> None:
    """Add the rows of one item, at its position among its kind, to `rows`."""
    head = {"venue": venue, "position": position}
    match item:
        case PixelType():
            _add(rows, PIXEL_TYPE, head | {"id": item.key, "document": item.model_dump_json()})
        case Supply():
            _add(rows, SUPPLY, head | item.model_dump())
        case Node():
            _add(rows, NODE, head | item.model_dump(exclude={"channels", "tags"}) | {"tags": json.dumps(item.tags)})
            for place, channel in enumerate(item.channels):
                _add_channel(rows, {"venue": venue, "node": item.id}, place, channel)
        case Zone():
            _add(rows, ZONE, head | item.model_dump(exclude={"spans", "of"}))
            part = {"venue": venue, "zone": item.id}
            for place, span in enumerate(item.spans):
                path = {"path": json.dumps(span.path)}
                _add(rows, SPAN, part | {"position": place} | span.model_dump(exclude={"path"}) | path)
            for place, member in enumerate(item.of):
                _add(rows, ZONE_MEMBER, part | {"position": place, "member": member})
        case Scene():
            layers = {"layers": _LAYERS.dump_json(item.layers).decode()}
            _add(rows, SCENE, head | item.model_dump(exclude={"layers"}) | layers)
        case _:
            raise TypeError(f"no table holds a {type(item).__name__}")


def read_venue_rows(connection: Connection, venue: str) -> Venue | None:
    """The whole venue, every item in its place; None where there is none. Ten queries, whatever its size."""
    own = connection.execute(select(VENUE).where(VENUE.c.id == venue)).mappings().one_or_none()
    if own is None:
        return None
    feeds = _grouped(connection, FEED, venue, ("node", "channel"))
    channels = _grouped(connection, CHANNEL, venue, ("node",))
    spans = _grouped(connection, SPAN, venue, ("zone",))
    members = _grouped(connection, ZONE_MEMBER, venue, ("zone",))
    return Venue(
        id=own["id"],
        title=own["title"],
        note=own["note"],
        opening_scene=own["opening_scene"],
        master_level=own["master_level"],
        tariff=None if own["tariff"] is None else Tariff.model_validate_json(own["tariff"]),
        place=None if own["place"] is None else Place.model_validate_json(own["place"]),
        time_zone=own["time_zone"],
        approves_rollouts=own["approves_rollouts"],
        timetable=_TIMETABLE.validate_json(own["timetable"]),
        cue_lists=_CUE_LISTS.validate_json(own["cue_lists"]),
        pixel_types=tuple(
            PixelType.model_validate_json(row["document"]) for row in _all(connection, PIXEL_TYPE, venue)
        ),
        supplies=tuple(_contract(Supply, row) for row in _all(connection, SUPPLY, venue)),
        nodes=tuple(
            _contract(
                Node,
                row,
                tags=tuple(json.loads(row["tags"])),
                channels=tuple(_channel(one, feeds[one["node"], one["number"]]) for one in channels[row["id"],]),
            )
            for row in _all(connection, NODE, venue)
        ),
        zones=tuple(
            _contract(
                Zone,
                row,
                spans=tuple(_contract(Span, one, path=_PATH.validate_json(one["path"])) for one in spans[row["id"],]),
                of=tuple(one["member"] for one in members[row["id"],]),
            )
            for row in _all(connection, ZONE, venue)
        ),
        scenes=tuple(
            _contract(Scene, row, layers=_LAYERS.validate_json(row["layers"])) for row in _all(connection, SCENE, venue)
        ),
    )


def _add(rows: Rows, table: Table, row: Row) -> None:
    rows.setdefault(table, []).append(row)


def _add_channel(rows: Rows, head: Row, position: int, channel: Channel) -> None:
    run = channel.run
    _add(
        rows,
        CHANNEL,
        head
        | {"number": channel.number, "position": position, "pin": channel.pin}
        | run.model_dump(exclude={"feeds", "white_balance", "positive_cut_before"})
        | {
            "white_balance": run.white_balance.model_dump_json(),
            "positive_cut_before": json.dumps(run.positive_cut_before),
        },
    )
    for place, feed in enumerate(run.feeds):
        _add(rows, FEED, head | {"channel": channel.number, "position": place} | feed.model_dump())


def _channel(row: RowMapping, feeds: Sequence[RowMapping]) -> Channel:
    run = _contract(
        Run,
        row,
        white_balance=WhiteBalance.model_validate_json(row["white_balance"]),
        positive_cut_before=_CUTS.validate_json(row["positive_cut_before"]),
        feeds=tuple(_contract(Feed, feed) for feed in feeds),
    )
    return Channel(number=row["number"], pin=row["pin"], run=run)


C = TypeVar("C", bound=BaseModel)


def _contract(contract: type[C], row: RowMapping, **parts: object) -> C:
    """A contract from the columns that have its fields' names, and from `parts` built already."""
    columns = {name: row[name] for name in contract.model_fields if name not in parts}
    return contract.model_validate(columns | parts)


def _all(connection: Connection, table: Table, venue: str) -> Sequence[RowMapping]:
    found = connection.execute(select(table).where(table.c.venue == venue).order_by(table.c.position))
    return found.mappings().all()


def _grouped(
    connection: Connection, table: Table, venue: str, keys: tuple[str, ...]
) -> Mapping[tuple[Any, ...], list[RowMapping]]:
    groups: dict[tuple[Any, ...], list[RowMapping]] = defaultdict(list)
    for row in _all(connection, table, venue):
        groups[tuple(row[key] for key in keys)].append(row)
    return groups

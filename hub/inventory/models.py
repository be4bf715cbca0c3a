"""Tables of the inventory. What is searched has columns; what is only carried (paths, patterns, pixel types) is JSON.

`position` is the place in the owner's file, so that an export reads as it was written. Foreign keys are checked at
commit, so that an item can be replaced while others refer to it.
"""

from typing import Any

from sqlalchemy import Column, ForeignKeyConstraint, Index, Text
from sqlmodel import Field, SQLModel

MAX_ID = 40


def _refers(columns: list[str], table: str, keys: list[str]) -> ForeignKeyConstraint:
    return ForeignKeyConstraint(columns, [f"{table}.{key}" for key in keys], deferrable=True, initially="DEFERRED")


def _json() -> Any:  # noqa: ANN401 (what SQLModel's Field returns)
    return Field(sa_column=Column(Text, nullable=False))


class VenueRecord(SQLModel, table=True):
    """A venue. `version` counts every change of anything in it."""

    __tablename__ = "venue"

    id: str = Field(primary_key=True, max_length=MAX_ID)
    version: int
    title: str = Field(max_length=80)
    note: str = Field(max_length=400)
    opening_scene: str | None = Field(default=None, max_length=MAX_ID)
    master_level: float
    tariff: str | None = Field(default=None, max_length=80)
    place: str | None = Field(default=None, max_length=120)
    time_zone: str = Field(max_length=64)
    approves_rollouts: bool
    timetable: str = _json()
    cue_lists: str = _json()


class PixelTypeRecord(SQLModel, table=True):
    """A pixel type of the venue's own, beside those of the catalogue."""

    __tablename__ = "pixel_type"
    __table_args__ = (_refers(["venue"], "venue", ["id"]),)

    venue: str = Field(primary_key=True, max_length=MAX_ID)
    id: str = Field(primary_key=True, max_length=MAX_ID)
    position: int
    document: str = _json()


class SupplyRecord(SQLModel, table=True):
    """A DC power supply."""

    __tablename__ = "supply"
    __table_args__ = (_refers(["venue"], "venue", ["id"]),)

    venue: str = Field(primary_key=True, max_length=MAX_ID)
    id: str = Field(primary_key=True, max_length=MAX_ID)
    position: int
    title: str | None = Field(default=None, max_length=80)
    volts: float
    rated_a: float
    derating: float
    output_ohm: float
    efficiency: float
    sharing: str = Field(max_length=16)


class NodeRecord(SQLModel, table=True):
    """A board."""

    __tablename__ = "node"
    __table_args__ = (_refers(["venue"], "venue", ["id"]),)

    venue: str = Field(primary_key=True, max_length=MAX_ID)
    id: str = Field(primary_key=True, max_length=MAX_ID)
    position: int
    title: str | None = Field(default=None, max_length=80)
    outputs: int
    tags: str = _json()
    network_switch: str | None = Field(default=None, max_length=MAX_ID)
    powered_by: str | None = Field(default=None, max_length=MAX_ID)
    frame_rate_limit_hz: float | None = None


class ChannelRecord(SQLModel, table=True):
    """A data output of a board with the run on it. The pixel type may be the catalogue's, so it is no foreign key."""

    __tablename__ = "channel"
    __table_args__ = (_refers(["venue", "node"], "node", ["venue", "id"]),)

    venue: str = Field(primary_key=True, max_length=MAX_ID)
    node: str = Field(primary_key=True, max_length=MAX_ID)
    number: int = Field(primary_key=True)
    position: int
    pin: str = Field(max_length=31)
    pixel_type: str = Field(max_length=MAX_ID)
    pixels: int
    pixels_per_m: float
    loop_ohm_per_m: float | None = None
    positive_cut_before: str = _json()
    white_balance: str = _json()
    white_emitter_k: float | None = None


class FeedRecord(SQLModel, table=True):
    """Where a supply's wires join a run."""

    __tablename__ = "feed"
    __table_args__ = (
        _refers(["venue", "node", "channel"], "channel", ["venue", "node", "number"]),
        _refers(["venue", "supply"], "supply", ["venue", "id"]),
        Index("ix_feed_venue_supply", "venue", "supply"),
    )

    venue: str = Field(primary_key=True, max_length=MAX_ID)
    node: str = Field(primary_key=True, max_length=MAX_ID)
    channel: int = Field(primary_key=True)
    position: int = Field(primary_key=True)
    supply: str = Field(max_length=MAX_ID)
    at_pixel: int
    wire_mm2: float | None = None
    wire_awg: int | None = None
    length_m: float
    conductor_c: float
    fuse_a: float | None = None


class ZoneRecord(SQLModel, table=True):
    """A zone; its spans, or the zones that it joins, are in tables of their own."""

    __tablename__ = "zone"
    __table_args__ = (_refers(["venue"], "venue", ["id"]),)

    venue: str = Field(primary_key=True, max_length=MAX_ID)
    id: str = Field(primary_key=True, max_length=MAX_ID)
    position: int
    title: str | None = Field(default=None, max_length=80)
    trim: float
    white_point_k: float | None = None


class SpanRecord(SQLModel, table=True):
    """Pixels of one channel inside a zone."""

    __tablename__ = "span"
    __table_args__ = (
        _refers(["venue", "zone"], "zone", ["venue", "id"]),
        _refers(["venue", "node", "channel"], "channel", ["venue", "node", "number"]),
        Index("ix_span_venue_node_channel", "venue", "node", "channel"),
    )

    venue: str = Field(primary_key=True, max_length=MAX_ID)
    zone: str = Field(primary_key=True, max_length=MAX_ID)
    position: int = Field(primary_key=True)
    node: str = Field(max_length=MAX_ID)
    channel: int
    first: int
    pixels: int
    path: str = _json()


class ZoneMemberRecord(SQLModel, table=True):
    """A zone that another joins."""

    __tablename__ = "zone_member"
    __table_args__ = (
        _refers(["venue", "zone"], "zone", ["venue", "id"]),
        _refers(["venue", "member"], "zone", ["venue", "id"]),
        Index("ix_zone_member_venue_member", "venue", "member"),
    )

    venue: str = Field(primary_key=True, max_length=MAX_ID)
    zone: str = Field(primary_key=True, max_length=MAX_ID)
    position: int = Field(primary_key=True)
    member: str = Field(max_length=MAX_ID)


class SceneRecord(SQLModel, table=True):
    """A scene; its layers are only carried."""

    __tablename__ = "scene"
    __table_args__ = (_refers(["venue"], "venue", ["id"]),)

    venue: str = Field(primary_key=True, max_length=MAX_ID)
    id: str = Field(primary_key=True, max_length=MAX_ID)
    position: int
    title: str = Field(max_length=80)
    note: str = Field(max_length=400)
    layers: str = _json()

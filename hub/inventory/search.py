"""Conditions that single out items of a venue, as SQL over the tables of the inventory. They only build it."""

import json
from collections.abc import Collection

from sqlalchemy import ColumnElement, Table, or_, select

from hub.inventory.rows import FEED, NODE, SPAN, SUPPLY, ZONE

Condition = ColumnElement[bool]
SAME_VOLTS = 1e-6


def has_text(table: Table, text: str) -> Condition:
    """`text` stands in the id or the title, in whatever case."""
    return or_(table.c.id.icontains(text, autoescape=True), table.c.title.icontains(text, autoescape=True))


def node_fed_by(supply: str) -> Condition:
    feeds = select(FEED.c.node).where(FEED.c.venue == NODE.c.venue, FEED.c.supply == supply)
    return NODE.c.id.in_(feeds)


def node_in_zones(zones: Collection[str]) -> Condition:
    """A span of one of `zones` lies on the node."""
    return NODE.c.id.in_(select(SPAN.c.node).where(SPAN.c.venue == NODE.c.venue, SPAN.c.zone.in_(zones)))


def node_with_tag(tag: str) -> Condition:
    return NODE.c.tags.contains(json.dumps(tag), autoescape=True)


def supply_of_volts(volts: float) -> Condition:
    return SUPPLY.c.volts.between(volts - SAME_VOLTS, volts + SAME_VOLTS)


def supply_of_node(node: str) -> Condition:
    return SUPPLY.c.id.in_(select(FEED.c.supply).where(FEED.c.venue == SUPPLY.c.venue, FEED.c.node == node))


def zone_on_node(node: str) -> Condition:
    """A span of the zone's own lies on the node."""
    return ZONE.c.id.in_(select(SPAN.c.zone).where(SPAN.c.venue == ZONE.c.venue, SPAN.c.node == node))

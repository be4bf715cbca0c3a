"""A venue in a list: its title and how many of everything it has."""

from pydantic import BaseModel
from sqlalchemy import Connection, ScalarSelect, func, select

from hub.inventory.rows import CHANNEL, NODE, SCENE, SUPPLY, VENUE, ZONE


class VenueSummary(BaseModel):
    """How large a venue is."""

    id: str
    title: str
    nodes: int
    channels: int
    pixels: int
    supplies: int
    zones: int
    scenes: int


def venue_summaries(connection: Connection) -> list[VenueSummary]:
    """All venues by id, in one query."""
    counts: dict[str, ScalarSelect[int]] = {
        name: select(func.count()).select_from(table).where(table.c.venue == VENUE.c.id).scalar_subquery()
        for name, table in (
            ("nodes", NODE),
            ("channels", CHANNEL),
            ("supplies", SUPPLY),
            ("zones", ZONE),
            ("scenes", SCENE),
        )
    }
    pixels = select(func.coalesce(func.sum(CHANNEL.c.pixels), 0)).where(CHANNEL.c.venue == VENUE.c.id).scalar_subquery()
    columns = [count.label(name) for name, count in counts.items()]
    found = connection.execute(select(VENUE.c.id, VENUE.c.title, pixels.label("pixels"), *columns).order_by(VENUE.c.id))
    return [VenueSummary.model_validate(dict(row)) for row in found.mappings()]

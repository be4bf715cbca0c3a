"""Pixel types name a source for each value: what was the one source is where they all come from.

Snapshots keep the hash that they are filed under; a hub that compares it with the venue's rolls out a new revision.
"""

import json
from collections.abc import Callable, Sequence
from typing import Any

import sqlalchemy as sa
from alembic import op

revision: str = "0005"
down_revision: str | None = "0004"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None

PIXEL_TYPE = sa.table("pixel_type", sa.column("venue"), sa.column("id"), sa.column("document", sa.Text))
SNAPSHOT = sa.table("venue_snapshot", sa.column("sha256"), sa.column("document", sa.Text))
ADDED = ("sources", "leds_per_pixel", "current_below_minimum", "refresh_hz")


def upgrade() -> None:
    _rewrite(_named)


def downgrade() -> None:
    """What a clocked type is, the older contract cannot say: it stays, and is told when it is read."""
    _rewrite(_unnamed)


def _named(kind: dict[str, Any]) -> dict[str, Any]:
    rest = {field: value for field, value in kind.items() if field != "source"}
    return rest | {"sources": {"otherwise": " ".join(kind["source"].split())}} if "source" in kind else kind


def _unnamed(kind: dict[str, Any]) -> dict[str, Any]:
    rest = {field: value for field, value in kind.items() if field not in ADDED}
    return rest | {"source": kind["sources"]["otherwise"]} if kind.get("sources") else rest


def _rewrite(change: Callable[[dict[str, Any]], dict[str, Any]]) -> None:
    connection = op.get_bind()
    for venue, identifier, document in connection.execute(sa.select(PIXEL_TYPE)).all():
        changed = json.dumps(change(json.loads(document)))
        row = (PIXEL_TYPE.c.venue == venue) & (PIXEL_TYPE.c.id == identifier)
        connection.execute(sa.update(PIXEL_TYPE).where(row).values(document=changed))
    # One at a time: a snapshot is a whole venue.
    for (sha256,) in connection.execute(sa.select(SNAPSHOT.c.sha256)).all():
        row = SNAPSHOT.c.sha256 == sha256
        snapshot = json.loads(connection.execute(sa.select(SNAPSHOT.c.document).where(row)).scalar_one())
        if kinds := snapshot["venue"]["pixel_types"]:
            snapshot["venue"]["pixel_types"] = [change(kind) for kind in kinds]
            connection.execute(sa.update(SNAPSHOT).where(row).values(document=json.dumps(snapshot)))

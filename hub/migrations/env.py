"""Alembic's entry: runs migrations on the connection that `hub.database.migrate` hands over."""

from typing import Literal

from alembic import context
from alembic.autogenerate.api import AutogenContext
from sqlmodel.sql.sqltypes import AutoString

from hub.migrations.metadata import all_tables


def render_item(kind: str, item: object, _context: AutogenContext) -> str | Literal[False]:
    """Write SQLModel's own string type as the plain one, so that revisions need SQLAlchemy only."""
    return f"sa.String({item.length})" if kind == "type" and isinstance(item, AutoString) else False


connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=all_tables(),
    compare_type=True,
    render_item=render_item,
    # SQLite cannot alter most things in place: batch mode makes the table anew.
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()

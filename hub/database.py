"""The database: engine, SQLite's settings, migrations to the newest schema."""

from pathlib import Path
from typing import Any

from alembic import command
from alembic.config import Config
from sqlalchemy import Engine, create_engine, event

MIGRATIONS = Path(__file__).parent / "migrations"


def open_engine(url: str) -> Engine:
    """An engine for `url`. SQLite runs in WAL mode, waits 10 s for a lock and keeps foreign keys."""
    engine = create_engine(url)
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _set_sqlite_pragmas)
    return engine


def migrate(engine: Engine) -> None:
    """Bring the schema to the newest revision; from an empty database too."""
    configuration = Config()
    configuration.set_main_option("script_location", str(MIGRATIONS))
    with engine.begin() as connection:
        configuration.attributes["connection"] = connection
        command.upgrade(configuration, "head")


def _set_sqlite_pragmas(connection: Any, _record: Any) -> None:  # noqa: ANN401 (SQLAlchemy hands any driver's connection)
    cursor = connection.cursor()
    for pragma in ("journal_mode=WAL", "synchronous=NORMAL", "busy_timeout=10000", "foreign_keys=ON"):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()

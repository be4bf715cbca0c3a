"""The migrated schema is what the models describe, on SQLite and on PostgreSQL."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from sqlalchemy import Engine, inspect

from hub.api.tokens import TokenService
from hub.database import MIGRATIONS, migrate, open_engine
from hub.inventory.service import InventoryService
from hub.migrations.metadata import NAMING, all_tables
from hub.venue_file import read_venue_file
from tests.hub.migrations.postgres import postgres_url
from tests.hub.venue_file.test_reading import DEMO
from tests.hub.venue_file.venues import changed


@pytest.fixture(params=["sqlite", "postgresql"])
def engine(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Engine]:
    if request.param == "sqlite":
        opened = open_engine(f"sqlite:///{tmp_path / 'hub.sqlite3'}")
        yield opened
        opened.dispose()
        return
    with postgres_url() as url:
        opened = open_engine(url)
        yield opened
        opened.dispose()


def test_migrated_schema_is_what_the_models_describe(engine: Engine) -> None:
    migrate(engine)
    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, all_tables()) == []


def test_migrating_again_changes_nothing(engine: Engine) -> None:
    migrate(engine)
    token = TokenService(engine).make()
    migrate(engine)
    assert TokenService(engine).knows(token)


def test_every_constraint_has_a_name_of_its_own(engine: Engine) -> None:
    migrate(engine)
    inspector = inspect(engine)
    for table in inspector.get_table_names():
        if table == "alembic_version":
            continue
        assert inspector.get_pk_constraint(table)["name"] == NAMING["pk"] % {"table_name": table}
        assert all(str(key["name"]).startswith("fk_") for key in inspector.get_foreign_keys(table))
        assert all(str(unique["name"]).startswith("uq_") for unique in inspector.get_unique_constraints(table))


def test_schema_can_be_taken_down_and_made_again(engine: Engine) -> None:
    migrate(engine)
    configuration = Config()
    configuration.set_main_option("script_location", str(MIGRATIONS))
    with engine.begin() as connection:
        configuration.attributes["connection"] = connection
        command.downgrade(configuration, "base")
    assert inspect(engine).get_table_names() == ["alembic_version"]
    migrate(engine)
    assert "venue" in inspect(engine).get_table_names()


def test_inventory_works_on_the_migrated_schema(engine: Engine) -> None:
    migrate(engine)
    inventory = InventoryService(engine)
    for file in DEMO:
        venue = read_venue_file(file)
        inventory.load(venue)
        assert InventoryService(engine).venue(venue.id) == venue
        turned = changed(venue, nodes=venue.nodes[::-1], title="Other")
        inventory.load(turned)
        assert InventoryService(engine).venue(venue.id) == turned
    assert len(inventory.summaries()) == len(DEMO)

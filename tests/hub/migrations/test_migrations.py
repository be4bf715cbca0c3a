"""The migrated schema is what the models describe, on SQLite and on PostgreSQL."""

import json
from collections.abc import Iterator

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from sqlalchemy import Engine, MetaData, insert, inspect, select, text, update

from hub.api.tokens import TokenService
from hub.database import MIGRATIONS, migrate, open_engine
from hub.health.kinds import FindingKind
from hub.health.models import Finding
from hub.health.table import FindingFilter, FindingTable
from hub.inventory.service import InventoryService
from hub.migrations.metadata import NAMING, all_tables
from hub.rollout.snapshot import Snapshot
from hub.rollout.store import RolloutStore
from hub.venue_file import read_venue_file
from schemas import PixelTypeSources
from tests.hub.conftest import on_each_database
from tests.hub.health.invented_findings import invented_finding, store
from tests.hub.venue_file.test_reading import DEMO
from tests.hub.venue_file.test_reading import GOOD as KIOSK
from tests.hub.venue_file.venues import changed

pytestmark = on_each_database


@pytest.fixture
def engine(database_url: str) -> Iterator[Engine]:
    """On an empty database."""
    opened = open_engine(database_url)
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
    _move(engine, "base")
    assert inspect(engine).get_table_names() == ["alembic_version"]
    migrate(engine)
    assert "venue" in inspect(engine).get_table_names()


def test_rows_are_counted_beyond_32_bits(engine: Engine) -> None:
    migrate(engine)
    findings = FindingTable(engine)
    with engine.begin() as connection:
        connection.execute(insert(Finding), [_finding().model_dump() | {"id": 2**31 - 1}])
        if engine.dialect.name == "postgresql":
            connection.execute(text("SELECT setval('finding_id_seq', 2147483647)"))
    store(findings, [_finding()])
    assert [one.id for one in findings.open_or_ended_since(0)] == [2**31 - 1, 2**31]
    assert [one.id for one in findings.listed("arcade", FindingFilter(), 10**17, 5)] == [2**31, 2**31 - 1]


def _finding() -> Finding:
    return invented_finding("arcade", FindingKind.SLOW, "bay-01")


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


def test_one_source_of_a_pixel_type_becomes_that_of_all_its_values(engine: Engine) -> None:
    kiosk = read_venue_file(KIOSK)
    (kind,) = json.loads(kiosk.model_dump_json())["pixel_types"]
    before = {field: value for field, value in kind.items() if field not in ("sources", "refresh_hz")}
    before["source"] = "An older sheet,\nsecond line."
    snapshot = json.loads(Snapshot(venue=kiosk, telemetry_interval_s=5.0).model_dump_json())
    snapshot["venue"]["pixel_types"] = [before]
    migrate(engine)
    InventoryService(engine).load(kiosk)
    _move(engine, "0004")
    tables = MetaData()
    tables.reflect(engine, only=["pixel_type", "venue_snapshot"])
    with engine.begin() as connection:
        connection.execute(update(tables.tables["pixel_type"]).values(document=json.dumps(before)))
        row = {"sha256": "0" * 64, "document": json.dumps(snapshot)}
        connection.execute(insert(tables.tables["venue_snapshot"]), [row])
    migrate(engine)
    for venue in (InventoryService(engine).venue("kiosk"), RolloutStore(engine).snapshot("0" * 64).venue):
        (found,) = venue.pixel_types
        assert found.sources == PixelTypeSources(otherwise="An older sheet, second line.")
        assert found.without_sources() == kiosk.pixel_types[0].without_sources()
    _move(engine, "0004")
    with engine.connect() as connection:
        document = json.loads(connection.execute(select(tables.tables["pixel_type"].c.document)).scalar_one())
    assert document["source"] == "An older sheet, second line."
    assert "sources" not in document


def test_venues_from_before_levels_and_trims_show_as_they_did(engine: Engine) -> None:
    kiosk = read_venue_file(KIOSK)
    migrate(engine)
    InventoryService(engine).load(kiosk)
    _move(engine, "0007")
    migrate(engine)
    assert InventoryService(engine).venue("kiosk") == kiosk


def _move(engine: Engine, revision: str) -> None:
    """Down to an older schema."""
    configuration = Config()
    configuration.set_main_option("script_location", str(MIGRATIONS))
    with engine.begin() as connection:
        configuration.attributes["connection"] = connection
        command.downgrade(configuration, revision)

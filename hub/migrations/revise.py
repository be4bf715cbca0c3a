"""`python -m hub.migrations.revise "what changes"`: write the migration from the newest revision to the models."""

import sys
import tempfile
from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlmodel import SQLModel

from hub.database import MIGRATIONS, migrate, open_engine
from hub.migrations.metadata import NAMING


def main() -> int:
    if len(sys.argv) != 2:
        sys.stderr.write('usage: python -m hub.migrations.revise "what changes"\n')
        return 2
    # Before any table is declared: constraints take their names when they join a table.
    SQLModel.metadata.naming_convention = dict(NAMING)
    with tempfile.TemporaryDirectory() as folder:
        engine = open_engine(f"sqlite:///{Path(folder) / 'newest.sqlite3'}")
        migrate(engine)
        configuration = Config()
        configuration.set_main_option("script_location", str(MIGRATIONS))
        number = f"{len(list((MIGRATIONS / 'versions').glob('[0-9]*.py'))) + 1:04}"
        with engine.begin() as connection:
            configuration.attributes["connection"] = connection
            command.revision(configuration, sys.argv[1], autogenerate=True, rev_id=number)
        engine.dispose()
    return 0


if __name__ == "__main__":
    sys.exit(main())

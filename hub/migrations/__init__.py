"""Migrations of the database, by Alembic. `python -m hub.migrations.revise "what changes"` writes the next one."""

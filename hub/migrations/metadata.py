"""All tables of all rooms, as the models describe them."""

import importlib
from pathlib import Path
from types import MappingProxyType
from typing import Final

from sqlalchemy import MetaData
from sqlmodel import SQLModel

import hub

# Every constraint has a name of its own, so that a later migration can drop it on any database.
NAMING: Final = MappingProxyType(
    {
        "ix": "ix_%(column_0_N_label)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def all_tables() -> MetaData:
    """Import `models` of every room and give the metadata that they fill."""
    for models in sorted(Path(hub.__path__[0]).glob("*/models.py")):
        importlib.import_module(f"hub.{models.parent.name}.models")
    return SQLModel.metadata

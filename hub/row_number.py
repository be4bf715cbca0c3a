"""A table's own number for each of its rows."""

from sqlalchemy import BigInteger, Column, Integer


def row_number() -> Column[int]:
    """A primary key of 64 bits that the database counts up."""
    # SQLite counts rows in 64 bits only where the type is named INTEGER.
    return Column(BigInteger().with_variant(Integer, "sqlite"), primary_key=True)

"""Row numbers of findings and samples are 64 bits on PostgreSQL too: 2,000 nodes use up 31 bits in two months.

SQLite's are as they are; the type's name must stay INTEGER there for the column to be its row number.
"""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0002"
down_revision: str | None = "0001"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None

TABLES = ("finding", "telemetry_sample")


def upgrade() -> None:
    _retype(sa.Integer(), sa.BigInteger())


def downgrade() -> None:
    _retype(sa.BigInteger(), sa.Integer())


def _retype(old: sa.Integer, new: sa.Integer) -> None:
    if op.get_bind().dialect.name != "postgresql":
        return
    for table in TABLES:
        op.alter_column(table, "id", existing_type=old, type_=new)
        op.execute(f"ALTER SEQUENCE {table}_id_seq AS {new.compile(op.get_bind().dialect)}")

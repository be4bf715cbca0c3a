"""Who confirmed that a rollout's scene may go out although it fails the flash check."""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0009"
down_revision: str | None = "0008"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    op.add_column("rollout", sa.Column("flash_confirmed_by", sa.String(length=80), nullable=True))


def downgrade() -> None:
    op.drop_column("rollout", "flash_confirmed_by")

"""The person whom a token was made for; the cue list that a venue runs by."""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0012"
down_revision: str | None = "0011"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    op.add_column("access_token", sa.Column("name", sa.String(length=80), nullable=True))
    op.create_table(
        "cue_list_in_hand",
        sa.Column("venue", sa.String(length=40), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("taken", sa.Integer(), nullable=False),
        sa.Column("follows_to", sa.Integer(), nullable=False),
        sa.Column("taken_at_ms", sa.BigInteger(), nullable=True),
        sa.Column("revision", sa.BigInteger(), nullable=True),
        sa.Column("left_at_ms", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("venue", name=op.f("pk_cue_list_in_hand")),
    )


def downgrade() -> None:
    op.drop_table("cue_list_in_hand")
    op.drop_column("access_token", "name")

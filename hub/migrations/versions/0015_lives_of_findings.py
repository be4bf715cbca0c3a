"""Findings: severity, likely cause, cautions, what they share, who acknowledged; their changes; planned work.

Nodes: the network switch they hang on, the supply that feeds the board. Kinds of findings become plain texts, so that
a new one needs no migration.
"""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0015"
down_revision: str | None = "0014"
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None

KINDS = ("SILENT", "OVERLOADED", "SLOW", "BEHIND", "SKEWED", "CLOCK_UNTRUSTED", "CLOCKS_APART")
AS_TEXT = "LOWER(REPLACE(CAST(kind AS VARCHAR), '_', '-'))"


def _added() -> list[sa.Column[object]]:
    return [
        sa.Column("severity", sa.String(10), nullable=False, server_default="warning"),
        sa.Column("subject", sa.String(80), nullable=False, server_default=""),
        sa.Column("cause_kind", sa.String(10), nullable=True),
        sa.Column("cause", sa.String(40), nullable=True),
        sa.Column("folded_into", sa.BigInteger(), nullable=True),
        sa.Column("opened_at_ms", sa.BigInteger(), nullable=False, server_default="0"),
        sa.Column("openings", sa.Integer(), nullable=False, server_default="1"),
        sa.Column("likely_cause", sa.String(400), nullable=False, server_default=""),
        sa.Column("cautions", sa.Text(), nullable=False, server_default="[]"),
        sa.Column("acknowledged_at_ms", sa.BigInteger(), nullable=True),
        sa.Column("acknowledged_by", sa.String(80), nullable=True),
        sa.Column("note", sa.String(400), nullable=True),
        sa.Column("muted_by", sa.BigInteger(), nullable=True),
    ]


def upgrade() -> None:
    op.add_column("node", sa.Column("network_switch", sa.String(40), nullable=True))
    op.add_column("node", sa.Column("powered_by", sa.String(40), nullable=True))
    # The table is made anew in SQLite, which is harmless here: no other refers to it.
    with op.batch_alter_table("finding") as table:
        table.alter_column("kind", type_=sa.String(40), existing_nullable=False, postgresql_using=AS_TEXT)
        table.alter_column("node", existing_type=sa.String(40), nullable=True)
        for column in _added():
            table.add_column(column)
        table.create_index("ix_finding_folded_into", ["folded_into"])
    op.execute(f"UPDATE finding SET kind = {AS_TEXT}, opened_at_ms = started_at_ms")  # noqa: S608 (a constant)
    op.execute("UPDATE finding SET subject = CASE WHEN supply IS NULL THEN node ELSE supply END")
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP TYPE findingkind")
    op.create_table(
        "finding_change",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer, "sqlite"), nullable=False),
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("finding", sa.BigInteger(), nullable=False),
        sa.Column("at_ms", sa.BigInteger(), nullable=False),
        sa.Column("change", sa.String(20), nullable=False),
        sa.Column("by", sa.String(80), nullable=True),
        sa.Column("note", sa.String(400), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_finding_change"),
    )
    op.create_index("ix_finding_change_finding", "finding_change", ["finding"])
    op.create_table(
        "finding_mute",
        sa.Column("id", sa.BigInteger().with_variant(sa.Integer, "sqlite"), nullable=False),
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("nodes", sa.Text(), nullable=False),
        sa.Column("zones", sa.Text(), nullable=False),
        sa.Column("kinds", sa.Text(), nullable=False),
        sa.Column("from_ms", sa.BigInteger(), nullable=False),
        sa.Column("until_ms", sa.BigInteger(), nullable=False),
        sa.Column("reason", sa.String(400), nullable=False),
        sa.Column("made_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("made_by", sa.String(80), nullable=True),
        sa.Column("lifted_at_ms", sa.BigInteger(), nullable=True),
        sa.Column("lifted_by", sa.String(80), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_finding_mute"),
    )
    op.create_index("ix_finding_mute_venue", "finding_mute", ["venue"])
    op.create_index("ix_finding_mute_until_ms", "finding_mute", ["until_ms"])


def downgrade() -> None:
    op.drop_table("finding_mute")
    op.drop_table("finding_change")
    texts = ", ".join(f"'{kind.lower().replace('_', '-')}'" for kind in KINDS)
    op.execute(f"DELETE FROM finding WHERE node IS NULL OR kind NOT IN ({texts})")  # noqa: S608 (constants)
    postgresql = op.get_bind().dialect.name == "postgresql"
    if postgresql:
        op.execute("CREATE TYPE findingkind AS ENUM ({})".format(", ".join(f"'{kind}'" for kind in KINDS)))
    with op.batch_alter_table("finding") as table:
        table.drop_index("ix_finding_folded_into")
        for column in reversed(_added()):
            table.drop_column(column.name)
        table.alter_column("node", existing_type=sa.String(40), nullable=False)
        if postgresql:
            table.alter_column(
                "kind",
                type_=sa.Enum(*KINDS, name="findingkind", create_type=False),
                postgresql_using="UPPER(REPLACE(kind, '-', '_'))::findingkind",
            )
    if not postgresql:
        op.execute("UPDATE finding SET kind = UPPER(REPLACE(kind, '-', '_'))")
        with op.batch_alter_table("finding") as table:
            table.alter_column("kind", type_=sa.Enum(*KINDS, name="findingkind"), existing_nullable=False)
    op.drop_column("node", "powered_by")
    op.drop_column("node", "network_switch")

"""First tables: inventory, tokens, credentials, telemetry, findings, rollouts."""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op

revision: str = "0001"
down_revision: str | None = None
branch_labels: str | Sequence[str] | None = None
depends_on: str | Sequence[str] | None = None


def upgrade() -> None:
    op.create_table(
        "access_token",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("made_at_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_access_token")),
    )
    op.create_table(
        "finding",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("kind", sa.Enum("SILENT", "OVERLOADED", "SLOW", "BEHIND", name="findingkind"), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("supply", sa.String(40), nullable=True),
        sa.Column("started_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("ended_at_ms", sa.BigInteger(), nullable=True),
        sa.Column("message", sa.String(400), nullable=False),
        sa.Column("next_check", sa.String(400), nullable=False),
        sa.Column("evidence", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_finding")),
    )
    with op.batch_alter_table("finding", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_finding_ended_at_ms"), ["ended_at_ms"], unique=False)
        batch_op.create_index(batch_op.f("ix_finding_node"), ["node"], unique=False)
        batch_op.create_index(batch_op.f("ix_finding_started_at_ms"), ["started_at_ms"], unique=False)
        batch_op.create_index(batch_op.f("ix_finding_venue"), ["venue"], unique=False)

    op.create_table(
        "node_credential",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("username", sa.String(90), nullable=False),
        sa.Column("secret_hash", sa.String(100), nullable=False),
        sa.Column("issued_at_ms", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("venue", "node", name=op.f("pk_node_credential")),
        sa.UniqueConstraint("username", name=op.f("uq_node_credential_username")),
    )
    op.create_table(
        "supply_peak",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("supply", sa.String(40), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("day", sa.String(10), nullable=False),
        sa.Column("highest_a", sa.Float(), nullable=False),
        sa.PrimaryKeyConstraint("venue", "supply", "node", "day", name=op.f("pk_supply_peak")),
    )
    op.create_table(
        "telemetry_sample",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("heard_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=True),
        sa.Column("frame_rate_hz", sa.Float(), nullable=False),
        sa.Column("late_frames", sa.BigInteger(), nullable=False),
        sa.Column("render_ms", sa.Float(), nullable=False),
        sa.Column("amps", sa.Float(), nullable=False),
        sa.Column("limiter_scale", sa.Float(), nullable=False),
        sa.Column("temperature_c", sa.Float(), nullable=True),
        sa.Column("clock_offset_ms", sa.Float(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_telemetry_sample")),
    )
    with op.batch_alter_table("telemetry_sample", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_telemetry_sample_heard_at_ms"), ["heard_at_ms"], unique=False)

    op.create_table(
        "venue",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(80), nullable=False),
        sa.Column("note", sa.String(400), nullable=False),
        sa.Column("opening_scene", sa.String(40), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_venue")),
    )
    op.create_table(
        "venue_snapshot",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_venue_snapshot")),
    )
    op.create_table(
        "node",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(80), nullable=True),
        sa.Column("outputs", sa.Integer(), nullable=False),
        sa.Column("frame_rate_limit_hz", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(
            ["venue"], ["venue.id"], name=op.f("fk_node_venue_venue"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("venue", "id", name=op.f("pk_node")),
    )
    op.create_table(
        "pixel_type",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["venue"], ["venue.id"], name=op.f("fk_pixel_type_venue_venue"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("venue", "id", name=op.f("pk_pixel_type")),
    )
    op.create_table(
        "rollout",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("revision", sa.BigInteger(), nullable=False),
        sa.Column("snapshot_sha256", sa.String(64), nullable=False),
        sa.Column("scene", sa.String(40), nullable=True),
        sa.Column("state", sa.Enum("STAGING", "TAKEN", "HALTED", name="rolloutstate"), nullable=False),
        sa.Column("fade_ms", sa.Integer(), nullable=False),
        sa.Column("started_at_ms", sa.BigInteger(), nullable=False),
        sa.Column("ended_at_ms", sa.BigInteger(), nullable=True),
        sa.Column("take_at_ms", sa.BigInteger(), nullable=True),
        sa.Column("nodes_expected", sa.Integer(), nullable=False),
        sa.Column("nodes_staged", sa.Integer(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("refusals", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["snapshot_sha256"], ["venue_snapshot.sha256"], name=op.f("fk_rollout_snapshot_sha256_venue_snapshot")
        ),
        sa.PrimaryKeyConstraint("venue", "revision", name=op.f("pk_rollout")),
    )
    op.create_table(
        "scene",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(80), nullable=False),
        sa.Column("note", sa.String(400), nullable=False),
        sa.Column("layers", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["venue"], ["venue.id"], name=op.f("fk_scene_venue_venue"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("venue", "id", name=op.f("pk_scene")),
    )
    op.create_table(
        "supply",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(80), nullable=True),
        sa.Column("volts", sa.Float(), nullable=False),
        sa.Column("rated_a", sa.Float(), nullable=False),
        sa.Column("derating", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(
            ["venue"], ["venue.id"], name=op.f("fk_supply_venue_venue"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("venue", "id", name=op.f("pk_supply")),
    )
    op.create_table(
        "zone",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("title", sa.String(80), nullable=True),
        sa.ForeignKeyConstraint(
            ["venue"], ["venue.id"], name=op.f("fk_zone_venue_venue"), initially="DEFERRED", deferrable=True
        ),
        sa.PrimaryKeyConstraint("venue", "id", name=op.f("pk_zone")),
    )
    op.create_table(
        "channel",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("pin", sa.String(31), nullable=False),
        sa.Column("pixel_type", sa.String(40), nullable=False),
        sa.Column("pixels", sa.Integer(), nullable=False),
        sa.Column("pixels_per_m", sa.Float(), nullable=False),
        sa.Column("white_balance", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["venue", "node"],
            ["node.venue", "node.id"],
            name=op.f("fk_channel_venue_node_node"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("venue", "node", "number", name=op.f("pk_channel")),
    )
    op.create_table(
        "zone_member",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("zone", sa.String(40), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("member", sa.String(40), nullable=False),
        sa.ForeignKeyConstraint(
            ["venue", "member"],
            ["zone.venue", "zone.id"],
            name=op.f("fk_zone_member_venue_member_zone"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["venue", "zone"],
            ["zone.venue", "zone.id"],
            name=op.f("fk_zone_member_venue_zone_zone"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("venue", "zone", "position", name=op.f("pk_zone_member")),
    )
    with op.batch_alter_table("zone_member", schema=None) as batch_op:
        batch_op.create_index("ix_zone_member_venue_member", ["venue", "member"], unique=False)

    op.create_table(
        "feed",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("channel", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("supply", sa.String(40), nullable=False),
        sa.Column("at_pixel", sa.Integer(), nullable=False),
        sa.Column("wire_mm2", sa.Float(), nullable=False),
        sa.Column("length_m", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(
            ["venue", "node", "channel"],
            ["channel.venue", "channel.node", "channel.number"],
            name=op.f("fk_feed_venue_node_channel_channel"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["venue", "supply"],
            ["supply.venue", "supply.id"],
            name=op.f("fk_feed_venue_supply_supply"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("venue", "node", "channel", "position", name=op.f("pk_feed")),
    )
    with op.batch_alter_table("feed", schema=None) as batch_op:
        batch_op.create_index("ix_feed_venue_supply", ["venue", "supply"], unique=False)

    op.create_table(
        "span",
        sa.Column("venue", sa.String(40), nullable=False),
        sa.Column("zone", sa.String(40), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("node", sa.String(40), nullable=False),
        sa.Column("channel", sa.Integer(), nullable=False),
        sa.Column("first", sa.Integer(), nullable=False),
        sa.Column("pixels", sa.Integer(), nullable=False),
        sa.Column("path", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["venue", "node", "channel"],
            ["channel.venue", "channel.node", "channel.number"],
            name=op.f("fk_span_venue_node_channel_channel"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.ForeignKeyConstraint(
            ["venue", "zone"],
            ["zone.venue", "zone.id"],
            name=op.f("fk_span_venue_zone_zone"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("venue", "zone", "position", name=op.f("pk_span")),
    )
    with op.batch_alter_table("span", schema=None) as batch_op:
        batch_op.create_index("ix_span_venue_node_channel", ["venue", "node", "channel"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("span", schema=None) as batch_op:
        batch_op.drop_index("ix_span_venue_node_channel")

    op.drop_table("span")
    with op.batch_alter_table("feed", schema=None) as batch_op:
        batch_op.drop_index("ix_feed_venue_supply")

    op.drop_table("feed")
    with op.batch_alter_table("zone_member", schema=None) as batch_op:
        batch_op.drop_index("ix_zone_member_venue_member")

    op.drop_table("zone_member")
    op.drop_table("channel")
    op.drop_table("zone")
    op.drop_table("supply")
    op.drop_table("scene")
    op.drop_table("rollout")
    op.drop_table("pixel_type")
    op.drop_table("node")
    op.drop_table("venue_snapshot")
    op.drop_table("venue")
    with op.batch_alter_table("telemetry_sample", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_telemetry_sample_heard_at_ms"))

    op.drop_table("telemetry_sample")
    op.drop_table("supply_peak")
    op.drop_table("node_credential")
    with op.batch_alter_table("finding", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_finding_venue"))
        batch_op.drop_index(batch_op.f("ix_finding_started_at_ms"))
        batch_op.drop_index(batch_op.f("ix_finding_node"))
        batch_op.drop_index(batch_op.f("ix_finding_ended_at_ms"))

    op.drop_table("finding")
    op.drop_table("access_token")
    for name in ("rolloutstate", "findingkind"):
        sa.Enum(name=name).drop(op.get_bind(), checkfirst=True)

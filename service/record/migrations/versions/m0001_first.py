"""The first schema."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

JSON = sa.JSON()


def upgrade() -> None:
    """Make every table."""
    op.create_table(
        "alarm",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("vessel_id", sa.Text(), nullable=True),
        sa.Column("batch_id", sa.Text(), nullable=True),
        sa.Column("probe_id", sa.Text(), nullable=True),
        sa.Column("other", sa.Text(), nullable=True),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("priority", sa.Text(), nullable=False),
        sa.Column("raised_at", sa.BigInteger(), nullable=False),
        sa.Column("memory", JSON, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_alarm")),
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_alarm_state"), "alarm", ["state"], unique=False)
    op.create_index(op.f("ix_alarm_vessel_id"), "alarm", ["vessel_id"], unique=False)
    op.create_table(
        "alarm_memory",
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("memory", JSON, nullable=False),
        sa.PrimaryKeyConstraint("subject", name=op.f("pk_alarm_memory")),
    )
    op.create_table(
        "answered",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("fingerprint", sa.Text(), nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("headers", JSON, nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_answered")),
    )
    op.create_table(
        "batch",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("plan_id", sa.Text(), nullable=True),
        sa.Column("plan", JSON, nullable=False),
        sa.Column("course", JSON, nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("volume_l", sa.Float(), nullable=True),
        sa.Column("og", sa.Float(), nullable=True),
        sa.Column("expected_fg", sa.Float(), nullable=True),
        sa.Column("yeast", JSON, nullable=True),
        sa.Column("started_at", sa.BigInteger(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_batch")),
    )
    op.create_index(op.f("ix_batch_state"), "batch", ["state"], unique=False)
    op.create_table(
        "channel",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("config", JSON, nullable=False),
        sa.Column("quiet_hours", JSON, nullable=True),
        sa.Column("least_priority", sa.Text(), nullable=False),
        sa.Column("for_helper", sa.Boolean(), nullable=False),
        sa.Column("digest_at", sa.Text(), nullable=True),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.Column("removed_at", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_channel")),
    )
    op.create_table(
        "absence",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("from_at", sa.BigInteger(), nullable=False),
        sa.Column("to_at", sa.BigInteger(), nullable=False),
        sa.Column("channel_id", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["channel_id"], ["channel.id"], name=op.f("fk_absence_channel_id_channel")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_absence")),
    )
    op.create_table(
        "doubtful",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("from_at", sa.BigInteger(), nullable=False),
        sa.Column("to_at", sa.BigInteger(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_doubtful")),
    )
    op.create_table(
        "fault",
        sa.Column("probe_id", sa.Text(), nullable=False),
        sa.Column("hour", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("last_at", sa.BigInteger(), nullable=False),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("probe_id", "hour", "kind", name=op.f("pk_fault")),
    )
    op.create_table(
        "hour",
        sa.Column("probe", sa.SmallInteger(), autoincrement=False, nullable=False),
        sa.Column("hour", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("sum_mc", sa.BigInteger(), nullable=False),
        sa.Column("minutes", sa.SmallInteger(), nullable=False),
        sa.Column("min_mc", sa.Integer(), nullable=False),
        sa.Column("max_mc", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("probe", "hour", name=op.f("pk_hour")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "mark",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", JSON, nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_mark")),
    )
    op.create_table(
        "minute",
        sa.Column("probe", sa.SmallInteger(), autoincrement=False, nullable=False),
        sa.Column("minute", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("mean_mc", sa.Integer(), nullable=False),
        sa.Column("below_mc", sa.Integer(), nullable=False),
        sa.Column("above_mc", sa.Integer(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("probe", "minute", name=op.f("pk_minute")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "plan",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("body", JSON, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.Column("changed_at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan")),
    )
    op.create_table(
        "probe",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("number", sa.SmallInteger(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("address", sa.Text(), nullable=True),
        sa.Column("mounting", sa.Text(), nullable=True),
        sa.Column("interval_s", sa.Float(), nullable=True),
        sa.Column("resolution_bits", sa.SmallInteger(), nullable=True),
        sa.Column("topic", sa.Text(), nullable=True),
        sa.Column("path", sa.Text(), nullable=True),
        sa.Column("time_path", sa.Text(), nullable=True),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.Column("removed_at", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_probe")),
        sa.UniqueConstraint("number", name=op.f("uq_probe_number")),
    )
    op.create_table(
        "pushed",
        sa.Column("probe", sa.SmallInteger(), autoincrement=False, nullable=False),
        sa.Column("at_ms", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("raw_mc", sa.Integer(), nullable=False),
        sa.Column("fault", sa.Text(), nullable=True),
        sa.PrimaryKeyConstraint("probe", "at_ms", name=op.f("pk_pushed")),
        sqlite_with_rowid=False,
    )
    op.create_table(
        "undated_minute",
        sa.Column("boot_id", sa.Text(), nullable=False),
        sa.Column("boot_minute", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("probe", sa.SmallInteger(), autoincrement=False, nullable=False),
        sa.Column("mean_mc", sa.Integer(), nullable=False),
        sa.Column("below_mc", sa.Integer(), nullable=False),
        sa.Column("above_mc", sa.Integer(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("boot_id", "boot_minute", "probe", name=op.f("pk_undated_minute")),
    )
    op.create_table(
        "vessel",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("wall", sa.Text(), nullable=True),
        sa.Column("volume_l", sa.Float(), nullable=True),
        sa.Column("near", JSON, nullable=False),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.Column("removed_at", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_vessel")),
    )
    op.create_table(
        "alarm_transition",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("alarm_id", sa.Integer(), nullable=True),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("event", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("numbers", JSON, nullable=False),
        sa.ForeignKeyConstraint(["alarm_id"], ["alarm.id"], name=op.f("fk_alarm_transition_alarm_id_alarm")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_alarm_transition")),
    )
    op.create_index(op.f("ix_alarm_transition_alarm_id"), "alarm_transition", ["alarm_id"], unique=False)
    op.create_table(
        "assignment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("probe_id", sa.Text(), nullable=False),
        sa.Column("vessel_id", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("from_at", sa.BigInteger(), nullable=False),
        sa.Column("to_at", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["probe_id"], ["probe.id"], name=op.f("fk_assignment_probe_id_probe")),
        sa.ForeignKeyConstraint(["vessel_id"], ["vessel.id"], name=op.f("fk_assignment_vessel_id_vessel")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_assignment")),
    )
    op.create_index(op.f("ix_assignment_probe_id"), "assignment", ["probe_id"], unique=False)
    op.create_index(op.f("ix_assignment_vessel_id"), "assignment", ["vessel_id"], unique=False)
    op.create_table(
        "batch_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("batch_id", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("before", JSON, nullable=False),
        sa.Column("undone_at", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name=op.f("fk_batch_change_batch_id_batch")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_batch_change")),
    )
    op.create_index(op.f("ix_batch_change_batch_id"), "batch_change", ["batch_id"], unique=False)
    op.create_table(
        "calibration",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("probe_id", sa.Text(), nullable=False),
        sa.Column("from_at", sa.BigInteger(), nullable=False),
        sa.Column("slope", sa.Float(), nullable=False),
        sa.Column("offset_c", sa.Float(), nullable=False),
        sa.Column("uncertainty_c", sa.Float(), nullable=True),
        sa.Column("points", JSON, nullable=False),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["probe_id"], ["probe.id"], name=op.f("fk_calibration_probe_id_probe")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_calibration")),
    )
    op.create_index(op.f("ix_calibration_probe_id"), "calibration", ["probe_id"], unique=False)
    op.create_table(
        "entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("batch_id", sa.Text(), nullable=False),
        sa.Column("list", sa.Text(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("body", JSON, nullable=False),
        sa.Column("created_at", sa.BigInteger(), nullable=False),
        sa.Column("removed_at", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name=op.f("fk_entry_batch_id_batch")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_entry")),
        sa.UniqueConstraint("batch_id", "list", "n", name=op.f("uq_entry_batch_id_list_n")),
    )
    op.create_table(
        "estimate",
        sa.Column("batch_id", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("body", JSON, nullable=False),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name=op.f("fk_estimate_batch_id_batch")),
        sa.PrimaryKeyConstraint("batch_id", "at", name=op.f("pk_estimate")),
    )
    op.create_table(
        "heater",
        sa.Column("vessel_id", sa.Text(), nullable=False),
        sa.Column("at", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("on", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["vessel_id"], ["vessel.id"], name=op.f("fk_heater_vessel_id_vessel")),
        sa.PrimaryKeyConstraint("vessel_id", "at", name=op.f("pk_heater")),
    )
    op.create_table(
        "message",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("channel_id", sa.Text(), nullable=False),
        sa.Column("vessel_id", sa.Text(), nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("priority", sa.Text(), nullable=False),
        sa.Column("vessel", sa.Text(), nullable=True),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("alarms", JSON, nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("next_at", sa.BigInteger(), nullable=True),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("first_failed_at", sa.BigInteger(), nullable=True),
        sa.Column("done_at", sa.BigInteger(), nullable=True),
        sa.Column("took_ms", sa.Integer(), nullable=True),
        sa.Column("far_end", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["channel_id"], ["channel.id"], name=op.f("fk_message_channel_id_channel")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_message")),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_message_channel_id_vessel_id", "message", ["channel_id", "vessel_id"], unique=False)
    op.create_index("ix_message_state_next_at", "message", ["state", "next_at"], unique=False)
    op.create_table(
        "place",
        sa.Column("batch_id", sa.Text(), nullable=False),
        sa.Column("n", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("vessel_id", sa.Text(), nullable=False),
        sa.Column("from_at", sa.BigInteger(), nullable=False),
        sa.Column("to_at", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(["batch_id"], ["batch.id"], name=op.f("fk_place_batch_id_batch")),
        sa.ForeignKeyConstraint(["vessel_id"], ["vessel.id"], name=op.f("fk_place_vessel_id_vessel")),
        sa.PrimaryKeyConstraint("batch_id", "n", name=op.f("pk_place")),
    )
    op.create_index(op.f("ix_place_vessel_id"), "place", ["vessel_id"], unique=False)
    op.create_table(
        "said",
        sa.Column("channel_id", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("memory", JSON, nullable=False),
        sa.ForeignKeyConstraint(["channel_id"], ["channel.id"], name=op.f("fk_said_channel_id_channel")),
        sa.PrimaryKeyConstraint("channel_id", "subject", name=op.f("pk_said")),
    )
    op.create_table(
        "account",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.Column("password_at", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_account")),
    )
    op.create_table(
        "session",
        sa.Column("secret_hash", sa.Text(), nullable=False),
        sa.Column("account_id", sa.Text(), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.Column("seen_at", sa.BigInteger(), nullable=False),
        sa.Column("peer", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name=op.f("fk_session_account_id_account")),
        sa.PrimaryKeyConstraint("secret_hash", name=op.f("pk_session")),
    )
    op.create_index(op.f("ix_session_account_id"), "session", ["account_id"], unique=False)
    op.create_table(
        "token",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("scope", sa.Text(), nullable=False),
        sa.Column("secret_hash", sa.Text(), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.Column("made_by", sa.Text(), nullable=False),
        sa.Column("used_at", sa.BigInteger(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_token")),
        sa.UniqueConstraint("secret_hash", name=op.f("uq_token_secret_hash")),
    )
    op.create_table(
        "audit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.BigInteger(), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.Column("how", sa.Text(), nullable=False),
        sa.Column("peer", sa.Text(), nullable=False),
        sa.Column("did", sa.Text(), nullable=False),
        sa.Column("fields", JSON, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_audit")),
        sqlite_autoincrement=True,
    )


def downgrade() -> None:
    """Take every table away."""
    op.drop_table("audit")
    op.drop_table("token")
    op.drop_index(op.f("ix_session_account_id"), table_name="session")
    op.drop_table("session")
    op.drop_table("account")
    op.drop_table("said")
    op.drop_index(op.f("ix_place_vessel_id"), table_name="place")
    op.drop_table("place")
    op.drop_index("ix_message_state_next_at", table_name="message")
    op.drop_index("ix_message_channel_id_vessel_id", table_name="message")
    op.drop_table("message")
    op.drop_table("heater")
    op.drop_table("estimate")
    op.drop_table("entry")
    op.drop_index(op.f("ix_calibration_probe_id"), table_name="calibration")
    op.drop_table("calibration")
    op.drop_index(op.f("ix_batch_change_batch_id"), table_name="batch_change")
    op.drop_table("batch_change")
    op.drop_index(op.f("ix_assignment_vessel_id"), table_name="assignment")
    op.drop_index(op.f("ix_assignment_probe_id"), table_name="assignment")
    op.drop_table("assignment")
    op.drop_index(op.f("ix_alarm_transition_alarm_id"), table_name="alarm_transition")
    op.drop_table("alarm_transition")
    op.drop_table("vessel")
    op.drop_table("undated_minute")
    op.drop_table("pushed")
    op.drop_table("probe")
    op.drop_table("plan")
    op.drop_table("minute")
    op.drop_table("mark")
    op.drop_table("hour")
    op.drop_table("fault")
    op.drop_table("doubtful")
    op.drop_table("absence")
    op.drop_table("channel")
    op.drop_index(op.f("ix_batch_state"), table_name="batch")
    op.drop_table("batch")
    op.drop_table("answered")
    op.drop_table("alarm_memory")
    op.drop_index(op.f("ix_alarm_vessel_id"), table_name="alarm")
    op.drop_index(op.f("ix_alarm_state"), table_name="alarm")
    op.drop_table("alarm")

"""Every table of the record. Temperatures are whole milli-degrees Celsius, uncalibrated.

A minute is stored under (probe, minute), so a chart of one probe reads one run of pages. The
lowest and highest value are kept as distances from the mean: mostly nought or one step of the
part, which SQLite keeps in one byte or none.
"""

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    SmallInteger,
    Table,
    Text,
    UniqueConstraint,
)

from service.record.types import JsonValue, UtcTime

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

vessel = Table(
    "vessel",
    metadata,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("wall", Text),
    Column("volume_l", Float),
    Column("near", JsonValue, nullable=False),
    Column("created_at", UtcTime, nullable=False),
    Column("removed_at", UtcTime),
)

probe = Table(
    "probe",
    metadata,
    Column("id", Text, primary_key=True),
    Column("number", SmallInteger, nullable=False, unique=True),
    Column("label", Text, nullable=False),
    Column("source", Text, nullable=False),
    Column("address", Text),
    Column("mounting", Text),
    Column("interval_s", Float),
    Column("resolution_bits", SmallInteger),
    Column("topic", Text),
    Column("path", Text),
    Column("time_path", Text),
    Column("created_at", UtcTime, nullable=False),
    Column("removed_at", UtcTime),
)

assignment = Table(
    "assignment",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("probe_id", ForeignKey("probe.id"), nullable=False, index=True),
    Column("vessel_id", ForeignKey("vessel.id"), nullable=False, index=True),
    Column("role", Text, nullable=False),
    Column("from_at", UtcTime, nullable=False),
    Column("to_at", UtcTime),
)

calibration = Table(
    "calibration",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("probe_id", ForeignKey("probe.id"), nullable=False, index=True),
    Column("from_at", UtcTime, nullable=False),
    Column("slope", Float, nullable=False),
    Column("offset_c", Float, nullable=False),
    Column("uncertainty_c", Float),
    Column("points", JsonValue, nullable=False),
    Column("created_at", UtcTime, nullable=False),
)

minute = Table(
    "minute",
    metadata,
    Column("probe", SmallInteger, primary_key=True, autoincrement=False),
    Column("minute", Integer, primary_key=True, autoincrement=False),
    Column("mean_mc", Integer, nullable=False),
    Column("below_mc", Integer, nullable=False),
    Column("above_mc", Integer, nullable=False),
    Column("count", Integer, nullable=False),
    sqlite_with_rowid=False,
)

hour = Table(
    "hour",
    metadata,
    Column("probe", SmallInteger, primary_key=True, autoincrement=False),
    Column("hour", Integer, primary_key=True, autoincrement=False),
    Column("sum_mc", BigInteger, nullable=False),
    Column("minutes", SmallInteger, nullable=False),
    Column("min_mc", Integer, nullable=False),
    Column("max_mc", Integer, nullable=False),
    sqlite_with_rowid=False,
)

undated_minute = Table(
    "undated_minute",
    metadata,
    Column("boot_id", Text, primary_key=True),
    Column("boot_minute", Integer, primary_key=True, autoincrement=False),
    Column("probe", SmallInteger, primary_key=True, autoincrement=False),
    Column("mean_mc", Integer, nullable=False),
    Column("below_mc", Integer, nullable=False),
    Column("above_mc", Integer, nullable=False),
    Column("count", Integer, nullable=False),
)

doubtful = Table(
    "doubtful",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("from_at", UtcTime, nullable=False),
    Column("to_at", UtcTime, nullable=False),
    Column("why", Text, nullable=False),
)

pushed = Table(
    "pushed",
    metadata,
    Column("probe", SmallInteger, primary_key=True, autoincrement=False),
    Column("at_ms", BigInteger, primary_key=True, autoincrement=False),
    Column("raw_mc", Integer, nullable=False),
    Column("fault", Text),
    sqlite_with_rowid=False,
)

fault = Table(
    "fault",
    metadata,
    Column("probe_id", Text, primary_key=True),
    Column("hour", Integer, primary_key=True, autoincrement=False),
    Column("kind", Text, primary_key=True),
    Column("count", Integer, nullable=False),
    Column("last_at", UtcTime, nullable=False),
    Column("detail", Text, nullable=False),
)

heater = Table(
    "heater",
    metadata,
    Column("vessel_id", ForeignKey("vessel.id"), primary_key=True),
    Column("at", UtcTime, primary_key=True, autoincrement=False),
    Column("on", Boolean, nullable=False),
)

plan = Table(
    "plan",
    metadata,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("body", JsonValue, nullable=False),
    Column("version", Integer, nullable=False),
    Column("created_at", UtcTime, nullable=False),
    Column("changed_at", UtcTime, nullable=False),
)

batch = Table(
    "batch",
    metadata,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("plan_id", Text),
    Column("plan", JsonValue, nullable=False),
    Column("course", JsonValue, nullable=False),
    Column("state", Text, nullable=False, index=True),
    Column("volume_l", Float),
    Column("og", Float),
    Column("expected_fg", Float),
    Column("yeast", JsonValue),
    Column("started_at", UtcTime, nullable=False),
    Column("version", Integer, nullable=False),
    Column("created_at", UtcTime, nullable=False),
)

place = Table(
    "place",
    metadata,
    Column("batch_id", ForeignKey("batch.id"), primary_key=True),
    Column("n", Integer, primary_key=True, autoincrement=False),
    Column("vessel_id", ForeignKey("vessel.id"), nullable=False, index=True),
    Column("from_at", UtcTime, nullable=False),
    Column("to_at", UtcTime),
)

batch_change = Table(
    "batch_change",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("batch_id", ForeignKey("batch.id"), nullable=False, index=True),
    Column("at", UtcTime, nullable=False),
    Column("what", Text, nullable=False),
    Column("before", JsonValue, nullable=False),
    Column("undone_at", UtcTime),
)

entry = Table(
    "entry",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("batch_id", ForeignKey("batch.id"), nullable=False),
    Column("list", Text, nullable=False),
    Column("n", Integer, nullable=False),
    Column("at", UtcTime, nullable=False),
    Column("body", JsonValue, nullable=False),
    Column("created_at", UtcTime, nullable=False),
    Column("removed_at", UtcTime),
    UniqueConstraint("batch_id", "list", "n"),
)

estimate = Table(
    "estimate",
    metadata,
    Column("batch_id", ForeignKey("batch.id"), primary_key=True),
    Column("at", UtcTime, primary_key=True, autoincrement=False),
    Column("body", JsonValue, nullable=False),
)

alarm = Table(
    "alarm",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("key", Text, nullable=False),
    Column("vessel_id", Text, index=True),
    Column("batch_id", Text),
    Column("probe_id", Text),
    Column("other", Text),
    Column("state", Text, nullable=False, index=True),
    Column("priority", Text, nullable=False),
    Column("raised_at", UtcTime, nullable=False),
    Column("memory", JsonValue, nullable=False),
    sqlite_autoincrement=True,
)

alarm_memory = Table(
    "alarm_memory",
    metadata,
    Column("subject", Text, primary_key=True),
    Column("memory", JsonValue, nullable=False),
)

alarm_transition = Table(
    "alarm_transition",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("alarm_id", ForeignKey("alarm.id"), index=True),
    Column("subject", Text, nullable=False),
    Column("at", UtcTime, nullable=False),
    Column("event", Text, nullable=False),
    Column("before", Text, nullable=False),
    Column("after", Text, nullable=False),
    Column("cause", Text, nullable=False),
    Column("numbers", JsonValue, nullable=False),
)

channel = Table(
    "channel",
    metadata,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("config", JsonValue, nullable=False),
    Column("quiet_hours", JsonValue),
    Column("least_priority", Text, nullable=False),
    Column("for_helper", Boolean, nullable=False),
    Column("digest_at", Text),
    Column("created_at", UtcTime, nullable=False),
    Column("removed_at", UtcTime),
)

absence = Table(
    "absence",
    metadata,
    Column("id", Text, primary_key=True),
    Column("from_at", UtcTime, nullable=False),
    Column("to_at", UtcTime, nullable=False),
    Column("channel_id", ForeignKey("channel.id"), nullable=False),
    Column("note", Text),
    Column("created_at", UtcTime, nullable=False),
)

message = Table(
    "message",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("channel_id", ForeignKey("channel.id"), nullable=False),
    Column("vessel_id", Text),
    Column("reason", Text, nullable=False),
    Column("priority", Text, nullable=False),
    Column("vessel", Text),
    Column("title", Text, nullable=False),
    Column("text", Text, nullable=False),
    Column("alarms", JsonValue, nullable=False),
    Column("at", UtcTime, nullable=False),
    Column("state", Text, nullable=False),
    Column("next_at", UtcTime),
    Column("attempts", Integer, nullable=False),
    Column("first_failed_at", UtcTime),
    Column("done_at", UtcTime),
    Column("took_ms", Integer),
    Column("far_end", Text),
    Index("ix_message_state_next_at", "state", "next_at"),
    Index("ix_message_channel_id_vessel_id", "channel_id", "vessel_id"),
    sqlite_autoincrement=True,
)

said = Table(
    "said",
    metadata,
    Column("channel_id", ForeignKey("channel.id"), primary_key=True),
    Column("subject", Text, primary_key=True),
    Column("memory", JsonValue, nullable=False),
)

mark = Table(
    "mark",
    metadata,
    Column("name", Text, primary_key=True),
    Column("value", JsonValue, nullable=False),
)

answered = Table(
    "answered",
    metadata,
    Column("key", Text, primary_key=True),
    Column("fingerprint", Text, nullable=False),
    Column("status", Integer, nullable=False),
    Column("headers", JsonValue, nullable=False),
    Column("body", Text, nullable=False),
    Column("at", UtcTime, nullable=False),
)

account = Table(
    "account",
    metadata,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("password_hash", Text, nullable=False),
    Column("made_at", UtcTime, nullable=False),
    Column("password_at", UtcTime, nullable=False),
)

session = Table(
    "session",
    metadata,
    Column("secret_hash", Text, primary_key=True),
    Column("account_id", ForeignKey("account.id"), nullable=False, index=True),
    Column("made_at", UtcTime, nullable=False),
    Column("seen_at", UtcTime, nullable=False),
    Column("peer", Text, nullable=False),
)

token = Table(
    "token",
    metadata,
    Column("id", Text, primary_key=True),
    Column("name", Text, nullable=False),
    Column("scope", Text, nullable=False),
    Column("secret_hash", Text, nullable=False, unique=True),
    Column("made_at", UtcTime, nullable=False),
    Column("made_by", Text, nullable=False),
    Column("used_at", UtcTime),
)

audit = Table(
    "audit",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("at", UtcTime, nullable=False),
    Column("who", Text, nullable=False),
    Column("how", Text, nullable=False),
    Column("peer", Text, nullable=False),
    Column("did", Text, nullable=False),
    Column("fields", JsonValue, nullable=False),
    sqlite_autoincrement=True,
)

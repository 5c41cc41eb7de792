"""Column types that keep the rules about time, the same on SQLite and PostgreSQL."""

from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import JSON, BigInteger, Dialect
from sqlalchemy.types import TypeDecorator

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)

JsonValue = JSON()


def to_ms(at: datetime) -> int:
    """Milliseconds since 1970 UTC. A naive time is a mistake of the caller (ValueError)."""
    if at.tzinfo is None:
        raise ValueError("a time without an offset cannot be stored")
    return (at - EPOCH) // timedelta(milliseconds=1)


def from_ms(value: int) -> datetime:
    """The aware UTC time of so many milliseconds since 1970."""
    return EPOCH + timedelta(milliseconds=value)


class UtcTime(TypeDecorator[datetime]):
    """Aware time kept as milliseconds since 1970 UTC; a naive one is refused."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:  # noqa: ARG002
        return None if value is None else to_ms(value)

    def process_result_value(self, value: Any | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        return None if value is None else from_ms(value)

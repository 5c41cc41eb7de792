"""Who changed what: in the same transaction as the change, once, and bounded."""

from datetime import timedelta

import pytest
from sqlalchemy import Connection

from service.errors import ConflictError
from service.record.audit import (
    KEPT,
    PRUNED_EVERY,
    Attributed,
    AuditRow,
    add_audit,
    attributed,
    audit_count,
    audit_rows,
)
from service.record.marks import read_mark, set_mark
from tests.rig import START, Rig

ROW = AuditRow(START, "Attic", "session", "192.0.2.7", "POST /vessels", ("name",))


def rows(rig: Rig) -> list[AuditRow]:
    with rig.record.reading() as connection:
        return list(audit_rows(connection, 100, None))


def test_a_change_takes_its_row_along_once(rig: Rig) -> None:
    with attributed(Attributed(lambda: ROW)):
        rig.record.write(lambda c: set_mark(c, "a", 1))
        rig.record.write(lambda c: set_mark(c, "b", 2))
    rig.record.write(lambda c: set_mark(c, "c", 3))

    (row,) = rows(rig)
    assert (row.at, row.who, row.how, row.peer, row.did, row.fields) == (
        START,
        "Attic",
        "session",
        "192.0.2.7",
        "POST /vessels",
        ("name",),
    )


def test_what_was_not_done_leaves_no_row(rig: Rig) -> None:
    def refuse(connection: Connection) -> None:
        set_mark(connection, "a", 1)
        raise ConflictError("No.")

    with attributed(Attributed(lambda: ROW)), pytest.raises(ConflictError):
        rig.record.write(refuse)

    assert rows(rig) == []
    with rig.record.reading() as connection:
        assert read_mark(connection, "a") is None


def test_after_a_refusal_the_next_commit_of_the_same_request_has_the_row(rig: Rig) -> None:
    def refuse(_connection: Connection) -> None:
        raise ConflictError("No.")

    with attributed(Attributed(lambda: ROW)):
        with pytest.raises(ConflictError):
            rig.record.write(refuse)
        rig.record.write(lambda c: set_mark(c, "a", 1))

    assert len(rows(rig)) == 1


def test_a_part_can_be_left_to_nobody(rig: Rig) -> None:
    with attributed(Attributed(lambda: ROW)), attributed(None):
        rig.record.write(lambda c: set_mark(c, "a", 1))

    assert rows(rig) == []


def test_the_newest_come_first_and_go_on_before_a_number(rig: Rig) -> None:
    for n in range(3):
        row = AuditRow(START + timedelta(seconds=n), "Attic", "token", "::1", f"did {n}")
        rig.record.write(lambda c, row=row: add_audit(c, row))  # type: ignore[misc]

    first = rows(rig)

    assert [row.did for row in first] == ["did 2", "did 1", "did 0"]
    with rig.record.reading() as connection:
        assert [row.did for row in audit_rows(connection, 1, first[0].id)] == ["did 1"]


def test_the_trail_is_bounded(rig: Rig) -> None:
    def many(connection: Connection) -> None:
        for _ in range(KEPT + 3 * PRUNED_EVERY):
            add_audit(connection, ROW)

    rig.record.write(many)

    with rig.record.reading() as connection:
        assert KEPT <= audit_count(connection) < KEPT + PRUNED_EVERY

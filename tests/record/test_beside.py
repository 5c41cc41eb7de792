"""Writing from another process beside a watch: short, whole or not at all, as the owner only."""

import os
from pathlib import Path

import pytest
from sqlalchemy import Connection

from service.errors import ConflictError
from service.record.beside import OtherOwnerError, write_beside
from service.record.marks import read_mark, set_mark
from tests.rig import Rig


def test_what_is_written_beside_is_seen_at_once_and_the_watch_goes_on(rig: Rig) -> None:
    write_beside(rig.folder, None, lambda c: set_mark(c, "beside", 1))

    with rig.record.reading() as connection:
        assert read_mark(connection, "beside") == 1
    rig.record.write(lambda c: set_mark(c, "own", 2))
    rig.rounds(2)


def test_a_refusal_leaves_nothing(rig: Rig) -> None:
    def refuse(connection: Connection) -> None:
        set_mark(connection, "beside", 1)
        raise ConflictError("No.")

    with pytest.raises(ConflictError):
        write_beside(rig.folder, None, refuse)

    with rig.record.reading() as connection:
        assert read_mark(connection, "beside") is None


def test_a_record_is_begun_where_there_is_none(tmp_path: Path) -> None:
    folder = tmp_path / "new"

    write_beside(folder, None, lambda c: set_mark(c, "first", 1))

    assert write_beside(folder, None, lambda c: read_mark(c, "first")) == 1
    assert folder.stat().st_mode & 0o777 == 0o700


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can give a file away")
def test_a_record_of_another_user_is_left_alone_with_the_remedy(rig: Rig) -> None:
    os.chown(rig.folder / "record.db", 65534, -1)

    with pytest.raises(OtherOwnerError, match="sudo -u nobody"):
        write_beside(rig.folder, None, lambda c: set_mark(c, "beside", 1))

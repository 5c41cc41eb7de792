import logging
import os
import sys
from pathlib import Path

from service.logs import JournalFormatter, in_journal


def test_each_line_for_the_journal_bears_its_level() -> None:
    try:
        raise ValueError("no such probe")
    except ValueError:
        failure = logging.LogRecord("watch", logging.ERROR, "", 0, "a round failed", None, sys.exc_info())
    plain = logging.LogRecord("watch", logging.INFO, "", 0, "new on the bus: %s", ("28-1",), None)

    lines = JournalFormatter().format(failure).splitlines()

    assert lines[0] == "<3>watch: a round failed"
    assert len(lines) > 2
    assert all(line.startswith("<3>") for line in lines)
    assert JournalFormatter().format(plain) == "<6>watch: new on the bus: 28-1"


def test_the_journal_is_known_by_the_stream_it_gave(tmp_path: Path) -> None:
    with (tmp_path / "out").open("w") as stream:
        seen = os.fstat(stream.fileno())

        assert in_journal({"JOURNAL_STREAM": f"{seen.st_dev}:{seen.st_ino}"}, stream)
        assert not in_journal({"JOURNAL_STREAM": f"{seen.st_dev}:{seen.st_ino + 1}"}, stream)
        assert not in_journal({}, stream)

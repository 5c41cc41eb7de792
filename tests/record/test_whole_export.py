"""The whole installation out and in again: the same to the last row, or refused and nothing changed."""

import gzip
import hashlib
import io
import json
import shutil
import tracemalloc
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from service.actions.secretless import secretless
from service.record.database import only_reading, open_record
from service.record.exporting import export
from service.record.importing import ImportRefusedError, discard, take_in
from service.record.minutes import MinuteRow, write_minutes
from service.record.sqlite_files import opened
from service.record.swapping import swap_in
from tests.record.filled import NOW, filled_record, paused
from tests.record.test_backup import tables
from tests.rig import rig_in

MADE_AT = datetime(2026, 11, 26, tzinfo=UTC)


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("filled")
    filled_record(folder)
    return folder


def exported(folder: Path, with_secrets: bool = True) -> bytes:
    out = io.BytesIO()
    with only_reading(folder, None) as connection:
        export(connection, out, MADE_AT, None if with_secrets else secretless)
    return out.getvalue()


def brought_in(folder: Path, text: bytes) -> Path | None:
    """Import this export into a folder; returns where an old record went."""
    source = folder / "in.export"
    source.write_bytes(text)
    return swap_in(folder, take_in(folder, source, paused).path, NOW)


def test_an_installation_comes_in_again_as_it_went_out(once: Path, tmp_path: Path) -> None:
    text = exported(once)

    aside = brought_in(tmp_path, text)

    assert aside is None
    assert tables(tmp_path / "record.db") == tables(once / "record.db")
    assert exported(tmp_path) == text
    with rig_in(tmp_path) as rig:
        rig.rounds(2)
        assert rig.get("/batches")["items"][0]["name"] == "Stair brown"
    assert sorted(p.name for p in tmp_path.iterdir() if p.name.startswith("record.db.")) == []


def test_every_table_of_the_record_is_in_the_trial(once: Path) -> None:
    empty = {name for name, rows in tables(once / "record.db").items() if not rows}

    assert empty == set()


def test_without_secrets_nothing_secret_goes_out_and_the_rest_comes_in(once: Path, tmp_path: Path) -> None:
    text = exported(once, with_secrets=False)
    (tmp_path / "in.export").write_bytes(text)

    incoming = take_in(tmp_path, tmp_path / "in.export", paused)
    swap_in(tmp_path, incoming.path, NOW)

    before, after = tables(once / "record.db"), tables(tmp_path / "record.db")
    assert b"s3cret" not in text
    assert b"link-key" not in text
    assert any("Hall" in sentence for sentence in incoming.sentences())
    assert b"no-hash" not in text
    assert [after[name] for name in ("account", "session", "token")] == [[], [], []]
    with_secrets = ("channel", "mark", "account", "session", "token")
    assert {n: r for n, r in before.items() if n not in with_secrets} == {
        n: r for n, r in after.items() if n not in with_secrets
    }
    with rig_in(tmp_path) as rig:
        assert rig.get("/channels")["items"][0]["name"] == "Hall"


def test_an_import_sets_the_record_in_use_aside(once: Path, tmp_path: Path) -> None:
    text = exported(once)
    open_record(tmp_path, None, lambda: 0.0).close()
    before = tables(tmp_path / "record.db")

    aside = brought_in(tmp_path, text)

    assert aside is not None
    assert tables(aside / "record.db") == before
    assert tables(tmp_path / "record.db") == tables(once / "record.db")


def test_a_compressed_export_is_taken_by_what_it_is_and_not_by_its_name(once: Path, tmp_path: Path) -> None:
    brought_in(tmp_path, gzip.compress(exported(once)))

    assert tables(tmp_path / "record.db") == tables(once / "record.db")


def lines_of(text: bytes) -> list[Any]:
    return [json.loads(line) for line in text.splitlines()]


def signed(lines: list[Any]) -> bytes:
    """Lines put together again with a right checksum: whoever alters a file on purpose can do that."""
    body = b"".join(json.dumps(line, ensure_ascii=False).encode() + b"\n" for line in lines[:-1])
    lines[-1]["end"]["sha256"] = hashlib.sha256(body).hexdigest()
    return body + json.dumps(lines[-1]).encode() + b"\n"


def on_rows(table: str, change: Callable[[list[Any]], None]) -> Callable[[bytes], bytes]:
    """A spoiler that changes the first rows of a table and signs the whole again."""

    def spoil(text: bytes) -> bytes:
        lines = lines_of(text)
        at = next(n for n, line in enumerate(lines) if isinstance(line, dict) and line.get("table") == table)
        change(lines[at + 1])
        return signed(lines)

    return spoil


def newer_schema(text: bytes) -> bytes:
    lines = lines_of(text)
    lines[0]["schema"] = "9999"
    return signed(lines)


def newer_format(text: bytes) -> bytes:
    lines = lines_of(text)
    lines[0]["version"] = 2
    return signed(lines)


def other_columns(text: bytes) -> bytes:
    lines = lines_of(text)
    next(line for line in lines if isinstance(line, dict) and "table" in line)["columns"].append("colour")
    return signed(lines)


def other_counts(text: bytes) -> bytes:
    lines = lines_of(text)
    lines[-1]["end"]["rows"]["vessel"] += 1
    return signed(lines)


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda _t: b"", "is no export of gylewatch"),
        (lambda _t: b'{"name": "a plan"}\n', "is no export of gylewatch"),
        (lambda _t: b"\x00\xff binary", "line 1: is no JSON"),
        (lambda t: t[: len(t) // 2], "cut short|is no JSON"),
        (lambda t: t[: t[:-1].rindex(b"\n") + 1], "its end is missing"),
        (lambda t: t.replace(b"Stair brown", b"Stair black", 1), "the checksum is another one"),
        (lambda t: t + b"{}\n", "comes after the end"),
        (lambda t: t.replace(b"\n", b"\n{}\n", 1), "line 2: is neither rows nor a table"),
        (lambda t: t.replace(b"\n", b"\n[[1]]\n", 1), "line 2: has rows that do not fit the columns"),
        (lambda t: gzip.compress(t)[:-200], "damaged or cut short"),
        (newer_schema, "newer gylewatch"),
        (newer_format, "newer gylewatch"),
        (other_columns, "are not those of this schema"),
        (other_counts, "the counts are other ones"),
        (
            on_rows("minute", lambda rows: rows[0].__setitem__(2, "warm")),
            "minute has 1 values in the column mean_mc",
        ),
        (on_rows("batch", lambda rows: rows[0].__setitem__(3, "{")), "batch has 1 values in the column plan"),
        (on_rows("minute", lambda rows: rows[0].__setitem__(2, None)), r"line \d+: does not fit .*NOT NULL"),
        (on_rows("minute", lambda rows: rows.append(rows[0])), r"line \d+: does not fit .*UNIQUE"),
        (
            on_rows("place", lambda rows: rows[0].__setitem__(2, "nowhere")),
            r"line \d+: does not fit .*FOREIGN KEY",
        ),
        (on_rows("minute", lambda rows: rows[0].__setitem__(2, [1])), r"line \d+: does not fit"),
        (on_rows("minute", lambda rows: rows[0].__setitem__(2, 2**70)), r"line \d+: does not fit"),
        (on_rows("vessel", lambda rows: rows[0].append("more")), "has rows that do not fit the columns"),
    ],
)
def test_a_spoilt_export_is_refused_in_words_and_nothing_changes(
    once: Path, tmp_path: Path, spoil: Callable[[bytes], bytes], words: str
) -> None:
    shutil.copy(once / "record.db", tmp_path / "record.db")
    before = (tmp_path / "record.db").read_bytes()
    text = exported(once)
    (tmp_path / "in.export").write_bytes(spoil(text))

    with pytest.raises(ImportRefusedError, match=words):
        take_in(tmp_path, tmp_path / "in.export", paused)

    assert (tmp_path / "record.db").read_bytes() == before
    assert sorted(p.name for p in tmp_path.iterdir() if not p.name.endswith(("-wal", "-shm"))) == [
        "in.export",
        "record.db",
    ]


def test_what_was_built_and_not_used_is_discarded(once: Path, tmp_path: Path) -> None:
    (tmp_path / "in.export").write_bytes(exported(once))
    take_in(tmp_path, tmp_path / "in.export", paused)

    discard(tmp_path)

    assert [p.name for p in tmp_path.iterdir()] == ["in.export"]


class Nowhere(io.RawIOBase):
    """A file that keeps nothing."""

    def write(self, data: Any, /) -> int:
        return len(data)


def test_export_and_import_take_constant_memory(tmp_path: Path) -> None:
    def peaks(days: int) -> tuple[int, int]:
        folder = tmp_path / str(days)
        folder.mkdir()
        record = open_record(folder, None, lambda: 0.0)
        record.write(
            lambda connection: write_minutes(
                connection, [MinuteRow(1, 29_000_000 + n, 20_000, 0, 1, 6) for n in range(days * 1440)]
            )
        )
        record.close()
        (folder / "x").write_bytes(exported(folder))
        with only_reading(folder, None) as connection:
            tracemalloc.start()
            export(connection, Nowhere(), MADE_AT, None)  # type: ignore[arg-type]
            out = tracemalloc.get_traced_memory()[1]
            tracemalloc.stop()
        take_in(folder, folder / "x", paused)
        tracemalloc.start()
        built = take_in(folder, folder / "x", paused)
        into = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        with closing(opened(built.path)) as connection_:
            assert connection_.execute("SELECT count(*) FROM minute").fetchone() == (days * 1440,)
        return out, into

    few, many = peaks(4), peaks(12)

    assert many[0] < 1.3 * few[0]
    assert many[1] < 1.3 * few[1]

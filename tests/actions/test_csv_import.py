"""Temperatures of another program's CSV: taken whole, or refused with line and column and nothing changed."""

import csv
import io
import sqlite3
import tracemalloc
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.actions.csv_import import read_csv
from service.actions.csv_rows import CsvRefusedError, Decimal, Shape, Unit, rows_of
from service.errors import ConflictError, NotFoundError
from service.record.minutes import MinuteRow, minutes_of
from service.watch.fold import minute_of
from tests.record.test_backup import tables
from tests.rig import PROBE, START, Rig

PLAIN = Shape("time", "temp")
BERLIN = ZoneInfo("Europe/Berlin")


@pytest.fixture
def cupboard(rig: Rig) -> Rig:
    rig.rounds(1)
    rig.post("/probes", {"label": "Cupboard", "source": "pushed", "interval_s": 60})
    return rig


def taken(rig: Rig, text: str | bytes, shape: Shape = PLAIN, probe: str = "cupboard") -> list[str]:
    """Import a file with this content; returns what was said before."""
    file = rig.folder / "in.csv"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    with read_csv(rig.record, rig.folder, probe, file, shape, rig.clock.now()) as found:
        said = found.seen.sentences(found.probe)
        found.store(rig.clock.now())
    return said


def stored(rig: Rig) -> list[MinuteRow]:
    with rig.record.reading() as connection:
        return minutes_of(connection, 2, 0, 2**31)


def test_a_file_out_of_order_becomes_the_minutes_it_says(cupboard: Rig) -> None:
    said = taken(
        cupboard,
        "time,who,temp\r\n"
        "2026-11-25T07:01:30Z,a,18.4\r\n"
        '2026-11-25T07:00:10Z,"b, ""c""",18.0\r\n'
        "\r\n"
        "2026-11-25T08:00:40+01:00,a,18.2\r\n"
        "2026-11-25T07:02:00Z,a,\r\n"
        "2026-11-25T07:00:10Z,a,18.0\r\n",
    )

    at = minute_of(datetime(2026, 11, 25, 7, 0, tzinfo=UTC))
    assert stored(cupboard) == [
        MinuteRow(2, at, 18_100, 100, 100, 2),
        MinuteRow(2, at + 1, 18_400, 0, 0, 1),
    ]
    assert said[0].startswith("4 temperatures for 'Cupboard'")
    assert any("1 rows have no temperature" in s for s in said)
    assert any("1 rows repeat another" in s for s in said)


def test_the_same_file_again_changes_nothing(cupboard: Rig) -> None:
    old = (START - timedelta(days=90)).isoformat()
    text = f"time,temp\n{old},17.5\n2026-11-25T07:00:00Z,18\n2026-11-25T07:00:30Z,18.5\n"
    taken(cupboard, text)
    before = tables(cupboard.folder / "record.db")

    said = taken(cupboard, text)

    assert tables(cupboard.folder / "record.db") == before
    assert len(stored(cupboard)) == 2
    assert any("2 of these are in the record already" in s for s in said)


def test_old_minutes_stay_and_recent_ones_join_what_was_pushed(cupboard: Rig) -> None:
    old = (START - timedelta(days=90)).isoformat()
    taken(cupboard, f"time,temp\n{old},17.5\n")
    cupboard.post("/probes/cupboard/samples", {"samples": [{"at": "2026-11-25T07:00:00Z", "temp_c": 18}]})

    taken(cupboard, f"time,temp\n{old[:17]}30+00:00,19.5\n2026-11-25T07:00:30Z,19\n")

    assert [(row.mean_mc, row.count) for row in stored(cupboard)] == [(17_500, 1), (18_500, 2)]


def test_hours_are_rolled_up_with_the_minutes(cupboard: Rig) -> None:
    taken(cupboard, "time,temp\n" + "".join(f"2025-01-01T00:{m:02}:00Z,{m}\n" for m in range(60)))

    with closing(sqlite3.connect(cupboard.folder / "record.db")) as connection:
        hours = connection.execute(
            "SELECT sum_mc, minutes, min_mc, max_mc FROM hour WHERE probe = 2"
        ).fetchall()
    assert hours == [(1_770_000, 60, 0, 59_000)]


@pytest.mark.parametrize(
    ("text", "shape", "wanted"),
    [
        ("time;temp\n2026-11-25T07:00:00Z;18,5\n", Shape("time", "temp", decimal=Decimal.COMMA), 18.5),
        ('time,temp\n2026-11-25T07:00:00Z,"18,5"\n', Shape("time", "temp", decimal=Decimal.COMMA), 18.5),
        ("time\ttemp\n2026-11-25T07:00:00Z\t18.5\n", PLAIN, 18.5),
        ("time|temp\n2026-11-25T07:00:00Z|18.5\n", Shape("time", "temp", delimiter="|"), 18.5),
        ("time,temp\n2026-11-25T07:00:00Z,65.3\n", Shape("time", "temp", Unit.FAHRENHEIT), 18.5),
        ("time,temp\n2026-11-25T07:00:00Z,291.65\n", Shape("time", "temp", Unit.KELVIN), 18.5),
        ("\ufefftime,temp\n2026-11-25 07:00:00+0000,1.85e1\n", PLAIN, 18.5),
        ("time,temp\n2026-11-25T07:00:00.123456789Z, 18.5 \n", PLAIN, 18.5),
        (
            "time,temp\n25.11.2026 08:00,18.5\n",
            Shape("time", "temp", zone=BERLIN, time_format="%d.%m.%Y %H:%M"),
            18.5,
        ),
        ("time,temp\n2026-11-25 08:00,18.5\n", Shape("time", "temp", zone=BERLIN), 18.5),
        (
            '"a\U0001f35e<b>","Temp (C)"\n2026-11-25T07:00:00Z,18.5\n',
            Shape("a\U0001f35e<b>", "Temp (C)"),
            18.5,
        ),
    ],
)
def test_many_ways_of_writing_are_read(text: str, shape: Shape, wanted: float) -> None:
    rows = list(rows_of(io.StringIO(text.lstrip("\ufeff"), newline=""), shape, START))

    assert [row.temp_c for row in rows] == [pytest.approx(wanted)]
    assert rows[0].at.replace(microsecond=0) == datetime(2026, 11, 25, 7, tzinfo=UTC)


T = "2026-11-25T07:00:00Z"


@pytest.mark.parametrize(
    ("text", "shape", "words"),
    [
        ("", PLAIN, "does not name 'time' and 'temp'. It says: nothing"),
        ("when,temp\n", PLAIN, "does not name 'time'"),
        ("time,temp,temp\n", PLAIN, "names more than once the column 'temp'"),
        ("time;temp\n", Shape("time", "temp", delimiter=","), "does not name the column 'time'"),
        ("time,temp\n", PLAIN, "has no temperature in the column 'temp'"),
        (f"time,temp\n{T},\n", PLAIN, "has no temperature in the column 'temp'"),
        (f"time,temp\n{T},18,5\n", PLAIN, "Line 2 has 3 cells where the first line has 2; decimal commas"),
        (f"time,temp\n{T}\n", PLAIN, "Line 2 has 1 cells"),
        (f'time,temp\n{T},"18,5"\n', PLAIN, "Line 2, column 'temp': '18,5' is no number; if the file writes"),
        (f"time;temp\n{T};18.5\n", Shape("time", "temp", decimal=Decimal.COMMA), "'18.5' has a point"),
        (f"time;temp\n{T};1,234,5\n", Shape("time", "temp", decimal=Decimal.COMMA), "is no number"),
        (f"time,temp\n{T},warm\n", PLAIN, "Line 2, column 'temp': 'warm' is no number."),
        (f"time,temp\n{T},nan\n", PLAIN, "'nan' is no number"),
        (f"time,temp\n{T},inf\n", PLAIN, "'inf' is no number"),
        (f"time,temp\n{T},1e999\n", PLAIN, "lies outside -55 to 125 C"),
        (f"time,temp\n{T},180\n", PLAIN, "in C lies outside -55 to 125 C. Is the unit another one"),
        ("time,temp\nyesterday,18\n", PLAIN, "Line 2, column 'time': 'yesterday' is no time like 2026"),
        ("time,temp\n2026-02-30T07:00:00Z,18\n", PLAIN, "is no time"),
        ("time,temp\n2026-11-25,18\n", PLAIN, "is no time"),
        ("time,temp\n2026-11-25T07:00:00,18\n", PLAIN, "has no offset; say whose clock it is"),
        (f"time,temp\n{T},18\n2026-11-25T07:01,18\n", PLAIN, "Line 3, column 'time'"),
        ("time,temp\n1970-01-01T00:00:00Z,18\n", PLAIN, "lies before 1990"),
        ("time,temp\n0001-01-01T00:00:00+23:00,18\n", PLAIN, "is no time that can be"),
        ("time,temp\n2026-11-25T09:00:00Z,18\n", PLAIN, "lies in the future"),
        ("time,temp\n2026-10-25 02:30,18\n", Shape("time", "temp", zone=BERLIN), "comes twice that night"),
        ("time,temp\n2026-03-29 02:30,18\n", Shape("time", "temp", zone=BERLIN), "was left out that night"),
        (
            f"time,temp\n{T},18\n{T},19\n",
            PLAIN,
            "Lines 2 and 3 give different temperatures for the same time",
        ),
        (f"time,temp\n{T},18\n2026-11-25T08:00:00+01:00,19\n", PLAIN, "Lines 2 and 3 give different"),
        (f'time,temp\n{T},"18\n', PLAIN, "is no CSV"),
        (b"time,temp\n\xff\xfe\n", PLAIN, "not UTF-8"),
        (b"\xff\xfet\x00i\x00m\x00e\x00", PLAIN, "not UTF-8"),
        ("time,temp\n" + "x" * 1_100_000, PLAIN, "Line 2 has over a million characters"),
        ("time,temp\n\x00,18\n", PLAIN, "is no time|is no CSV"),
        (
            f"time,temp\n{T},<script>alert(1)</script>\n",
            PLAIN,
            "'<script>alert\\(1\\)</script>' is no number",
        ),
    ],
)
def test_what_cannot_be_taken_is_said_with_line_and_column_and_nothing_changes(
    cupboard: Rig, text: str | bytes, shape: Shape, words: str
) -> None:
    before = tables(cupboard.folder / "record.db")

    with pytest.raises(CsvRefusedError, match=words):
        taken(cupboard, text, shape)

    assert tables(cupboard.folder / "record.db") == before
    assert not list(cupboard.folder.glob("csv-*"))


def test_several_problems_are_said_at_once_and_not_too_many(cupboard: Rig) -> None:
    with pytest.raises(CsvRefusedError) as refused:
        taken(cupboard, "time,temp\n" + f"{T},warm\n" * 50)

    assert [line[:7] for line in str(refused.value).splitlines()] == [f"Line {n}," for n in range(2, 7)]


def test_what_contradicts_a_pushed_sample_is_refused(cupboard: Rig) -> None:
    cupboard.post("/probes/cupboard/samples", {"samples": [{"at": T, "temp_c": 18}]})

    with pytest.raises(CsvRefusedError, match=r"Line 3: the record has 18.00 C for .*, the file 19.00 C"):
        taken(cupboard, f"time,temp\n2026-11-25T07:30:00Z,18\n{T},19\n")

    assert len(stored(cupboard)) == 1


def test_only_a_pushed_probe_is_taken(cupboard: Rig) -> None:
    with pytest.raises(ConflictError, match="declared as pushed"):
        taken(cupboard, f"time,temp\n{T},18\n", probe=PROBE)
    with pytest.raises(NotFoundError, match="no probe 'attic'"):
        taken(cupboard, f"time,temp\n{T},18\n", probe="attic")


def test_a_missing_file_is_one_sentence(cupboard: Rig) -> None:
    with (
        pytest.raises(CsvRefusedError, match="cannot be read"),
        read_csv(cupboard.record, cupboard.folder, "cupboard", Path("/nowhere.csv"), PLAIN, START),
    ):
        pass


class Endless(io.TextIOBase):
    """A file of so many rows that is nowhere."""

    def __init__(self, rows: int) -> None:
        self._lines = self._made(rows)

    def _made(self, rows: int) -> Iterator[str]:
        yield "time,temp\n"
        for n in range(rows):
            yield f"{(START - timedelta(seconds=n)).isoformat()},{18 + n % 7}\n"

    def readline(self, size: int | None = -1, /) -> str:  # type: ignore[override]
        return next(self._lines, "")


@pytest.mark.parametrize(("free", "taken"), [(200_000_000 + 2_000_000_000, True), (2_199_999_999, False)])
def test_a_file_for_whose_rows_there_is_no_room_is_refused_before_it_is_read(
    cupboard: Rig, free: int, taken: bool
) -> None:
    file = cupboard.folder / "huge.csv"
    with file.open("wb") as out:
        out.write(b"time,temp\n2026-11-25T07:00:00Z,warm\n")
        out.truncate(2_000_000_000)  # with a hole: it takes no room itself

    with (
        pytest.raises(CsvRefusedError) as refused,
        read_csv(cupboard.record, cupboard.folder, "cupboard", file, PLAIN, START, free=lambda _: free),
    ):
        pass

    assert ("only 2,200 MB are free" in str(refused.value)) is not taken
    assert ("is this CSV?" in str(refused.value)) is taken
    assert not list(cupboard.folder.glob("csv-*"))


def test_a_large_file_takes_no_more_memory_than_a_small_one(cupboard: Rig) -> None:
    def peak(rows: int) -> int:
        file = cupboard.folder / "large.csv"
        with file.open("w") as out:
            out.writelines(iter(Endless(rows).readline, ""))
        tracemalloc.start()
        with read_csv(cupboard.record, cupboard.folder, "cupboard", file, PLAIN, START) as found:
            assert found.seen.rows == rows
            found.store(START)
        reached = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return reached

    few, many = peak(15_000), peak(45_000)

    assert many < 1.3 * few


CELLS = st.text(alphabet=st.sampled_from("0123456789.,;:-+TZeE \"'\n\r\x00<é\U0001f35e"), max_size=30)


@settings(max_examples=150)
@given(st.lists(st.tuples(CELLS, CELLS), max_size=6), st.sampled_from(list(Decimal)))
def test_whatever_stands_in_the_cells_is_read_or_refused_in_words(
    cells: list[tuple[str, str]], decimal: Decimal
) -> None:
    out = io.StringIO(newline="")
    csv.writer(out).writerows([("time", "temp"), *cells])

    shape = Shape("time", "temp", decimal=decimal)
    rows, said = [], "Line "
    try:
        rows = list(rows_of(io.StringIO(out.getvalue(), newline=""), shape, START))
    except CsvRefusedError as refused:
        said = str(refused)

    assert said.startswith("Line ")
    assert all(row.at.tzinfo is UTC and (row.temp_c is None or -55 <= row.temp_c <= 125) for row in rows)

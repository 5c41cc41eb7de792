"""Reading temperatures from somebody else's CSV: each row to time and value, or a sentence with its line."""

import csv
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from typing import TextIO
from zoneinfo import ZoneInfo

from service.errors import GylewatchError

LONGEST_LINE = 1_000_000
DELIMITERS = (",", ";", "\t", "|")
LOWEST_C, HIGHEST_C = -55.0, 125.0
EARLIEST = datetime(1990, 1, 1, tzinfo=UTC)
MOST_PROBLEMS = 5

TIME = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d([.,]\d{1,9})?)? ?(Z|[+-]\d\d:?\d\d)?", re.IGNORECASE)
NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d{1,3})?", re.IGNORECASE)


class Unit(StrEnum):
    """What the temperatures are in."""

    CELSIUS = "C"
    FAHRENHEIT = "F"
    KELVIN = "K"


class Decimal(StrEnum):
    """How the file writes fractions."""

    POINT = "point"
    COMMA = "comma"


@dataclass(frozen=True, slots=True)
class Shape:
    """How to read a file.

    time and temperature: the columns' names in its header. zone: for times without an offset, None refuses
    those. time_format: as for strptime, None for ISO 8601. delimiter: None finds it out from the header.
    """

    time: str
    temperature: str
    unit: Unit = Unit.CELSIUS
    decimal: Decimal = Decimal.POINT
    delimiter: str | None = None
    zone: ZoneInfo | None = None
    time_format: str | None = None


@dataclass(frozen=True, slots=True)
class CsvRow:
    """One row: its line in the file, an aware UTC time, and C; value None: the cell is empty."""

    line: int
    at: datetime
    temp_c: float | None


class CsvRefusedError(GylewatchError):
    """The file cannot be taken; each sentence names line and column. Nothing was changed."""


class _WrongError(Exception):
    """What is wrong with one cell."""


def rows_of(file: TextIO, shape: Shape, now: datetime) -> Iterator[CsvRow]:
    """The rows of a file opened with newline="". CsvRefusedError after the file, or after a few problems."""
    lines = _Lines(file)
    header = next(iter(lines), "")
    try:
        delimiter = shape.delimiter or _delimiter(header, shape)
        names = _names(header, delimiter)
    except csv.Error as wrong:
        raise CsvRefusedError(f"The first line is no CSV: {wrong}.") from None
    at, temp = _column(names, shape.time), _column(names, shape.temperature)
    problems: list[str] = []
    for cells in _cells(lines, delimiter):
        if not cells:
            continue
        try:
            if len(cells) != len(names):
                raise _WrongError(_other_width(len(cells), len(names), shape))
            yield CsvRow(lines.number, _time(cells[at], shape, now), _value(cells[temp], shape))
        except _WrongError as wrong:
            problems.append(f"Line {lines.number}{wrong}")
            if len(problems) == MOST_PROBLEMS:
                break
    if problems:
        raise CsvRefusedError("\n".join(problems))


class _Lines:
    """The lines of a file with their numbers; one without an end would not fit into memory."""

    def __init__(self, file: TextIO) -> None:
        self._file = file
        self.number = 0

    def __iter__(self) -> Iterator[str]:
        try:
            while line := self._file.readline(LONGEST_LINE + 1):
                self.number += 1
                if len(line) > LONGEST_LINE:
                    raise CsvRefusedError(f"Line {self.number} has over a million characters; is this CSV?")
                yield line
        except UnicodeDecodeError:
            raise CsvRefusedError(
                f"Line {self.number + 1} or one soon after it is not UTF-8. Save the file as UTF-8."
            ) from None


def _cells(lines: _Lines, delimiter: str) -> Iterator[list[str]]:
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    while True:
        try:
            yield next(reader)
        except StopIteration:
            return
        except csv.Error as wrong:
            raise CsvRefusedError(f"Line {lines.number} is no CSV: {wrong}.") from None


def _delimiter(header: str, shape: Shape) -> str:
    for delimiter in DELIMITERS:
        names = _names(header, delimiter)
        if shape.time in names and shape.temperature in names:
            return delimiter
    shown = header.strip().lstrip("\ufeff")[:200] or "nothing"
    missing = [repr(name) for name in (shape.time, shape.temperature) if name not in shown]
    said = " and ".join(missing) or "the columns apart"
    raise CsvRefusedError(f"The first line does not name {said}. It says: {shown}")


def _names(header: str, delimiter: str) -> list[str]:
    return [name.strip() for name in next(csv.reader([header], delimiter=delimiter), [])]


def _column(names: list[str], wanted: str) -> int:
    if names.count(wanted) != 1:
        said = "does not name" if wanted not in names else "names more than once"
        raise CsvRefusedError(f"The first line {said} the column {wanted!r}. It names: {', '.join(names)}")
    return names.index(wanted)


def _other_width(found: int, wanted: int, shape: Shape) -> str:
    said = f" has {found} cells where the first line has {wanted}"
    if found > wanted and shape.delimiter in (None, ","):
        said += "; decimal commas need quotes around the number, or ; between the cells"
    return said + "."


def _value(cell: str, shape: Shape) -> float | None:
    where = f", column {shape.temperature!r}: {cell[:40]!r}"
    text = cell.strip()
    if not text:
        return None
    if shape.decimal is Decimal.COMMA:
        if "." in text:
            raise _WrongError(f"{where} has a point, but the file was said to write decimal commas.")
        text = text.replace(",", ".", 1)
    if not NUMBER.fullmatch(text):
        hint = ""
        if shape.decimal is Decimal.POINT and NUMBER.fullmatch(text.replace(",", ".", 1)):
            hint = "; if the file writes decimal commas, say --decimal comma"
        raise _WrongError(f"{where} is no number{hint}.")
    value = float(text)
    match shape.unit:
        case Unit.CELSIUS:
            temp_c = value
        case Unit.FAHRENHEIT:
            temp_c = (value - 32) * 5 / 9
        case Unit.KELVIN:
            temp_c = value - 273.15
    if not math.isfinite(temp_c) or not LOWEST_C <= temp_c <= HIGHEST_C:
        span = f"{LOWEST_C:g} to {HIGHEST_C:g} C"
        raise _WrongError(f"{where} in {shape.unit} lies outside {span}. Is the unit another one (--unit)?")
    return temp_c


def _time(cell: str, shape: Shape, now: datetime) -> datetime:
    where = f", column {shape.time!r}: {cell[:40]!r}"
    text = cell.strip()
    try:
        if shape.time_format is not None:
            at = datetime.strptime(text, shape.time_format)  # noqa: DTZ007 - the zone is looked at below
        elif TIME.fullmatch(text):
            at = datetime.fromisoformat(text.replace(",", ".").replace(" +", "+").replace(" -", "-").upper())
        else:
            raise ValueError
    except ValueError:
        like = shape.time_format or "2026-11-25 18:00:00+01:00"
        raise _WrongError(f"{where} is no time like {like}.") from None
    try:
        known = _in_zone(at, shape.zone, where) if at.tzinfo is None else at.astimezone(UTC)
    except OverflowError:
        raise _WrongError(f"{where} is no time that can be.") from None
    if known < EARLIEST:
        raise _WrongError(f"{where} lies before 1990.")
    if known > now:
        raise _WrongError(f"{where} lies in the future.")
    return known


def _in_zone(at: datetime, zone: ZoneInfo | None, where: str) -> datetime:
    if zone is None:
        raise _WrongError(f"{where} has no offset; say whose clock it is, such as --zone Europe/Berlin.")
    first, second = at.replace(tzinfo=zone, fold=0), at.replace(tzinfo=zone, fold=1)
    if first.utcoffset() == second.utcoffset():
        return first.astimezone(UTC)
    real = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) == at
    said = "comes twice that night" if real else "was left out that night"
    raise _WrongError(f"{where} {said} in {zone.key}, as summer time changed; such a time needs its offset.")

"""Which backups stay: by the calendar, and on a full disk."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.record.backup.description import Backup, BackupError, backups_in
from service.record.backup.making import LAST_ROOM, ROOM_LEFT, make_room
from service.record.backup.rotation import Keeping, staying
from tests.record.filled import NOW


def pretend(place: Path, at: datetime) -> Backup:
    """A file and a description that count as a backup of that time."""
    place.mkdir(exist_ok=True)
    path = place / f"record-{at:%Y%m%dT%H%M%SZ}.db"
    path.write_bytes(b"x")
    path.with_suffix(".json").write_text("{}")
    return Backup(path, at)


@pytest.mark.parametrize(
    ("free", "left"),
    [
        (ROOM_LEFT, 3),
        (ROOM_LEFT - 1, 1),
        (LAST_ROOM, 1),
        (LAST_ROOM - 1, 0),
    ],
)
def test_on_a_full_disk_the_oldest_backups_go_and_the_newest_last(
    tmp_path: Path, free: int, left: int
) -> None:
    made = [pretend(tmp_path / "backups", NOW - timedelta(days=n)) for n in range(3)]
    (tmp_path / "record.db").write_bytes(b"the record")

    make_room(tmp_path, free=lambda _folder: free)

    assert backups_in(tmp_path / "backups") == made[:left]
    assert (tmp_path / "record.db").read_bytes() == b"the record"


def test_only_as_many_backups_go_as_are_needed(tmp_path: Path) -> None:
    made = [pretend(tmp_path / "backups", NOW - timedelta(days=n)) for n in range(4)]

    def free(_folder: Path) -> int:
        return ROOM_LEFT - 2 + 4 - len(backups_in(tmp_path / "backups"))

    dropped = make_room(tmp_path, free=free)

    assert dropped == 2
    assert backups_in(tmp_path / "backups") == made[:2]


def test_a_backup_for_which_there_is_no_room_is_refused_and_the_newest_stays(tmp_path: Path) -> None:
    made = [pretend(tmp_path / "backups", NOW - timedelta(days=n)) for n in range(2)]

    with pytest.raises(BackupError, match="too little is free"):
        make_room(tmp_path, 10_000_000, lambda _folder: LAST_ROOM)

    assert backups_in(tmp_path / "backups") == made[:1]


def test_a_year_of_nightly_backups_leaves_seven_days_four_weeks_and_six_months() -> None:
    kept: set[datetime] = set()
    for day in range(400):
        at = datetime(2026, 1, 1, 3, 20, tzinfo=UTC) + timedelta(days=day)
        kept = staying({*kept, at})

    newest = datetime(2027, 2, 4, 3, 20, tzinfo=UTC)
    expected = {newest - timedelta(days=n) for n in range(7)}
    expected |= {datetime(2027, 1, d, 3, 20, tzinfo=UTC) for d in (17, 24, 31)}
    expected |= {datetime(y, m, d, 3, 20, tzinfo=UTC) for y, m, d in ((2026, 12, 31), (2026, 11, 30))}
    expected |= {datetime(2026, m, d, 3, 20, tzinfo=UTC) for m, d in ((10, 31), (9, 30))}
    assert kept == expected


TIMES = st.sets(
    st.integers(0, 4000 * 24).map(lambda hours: datetime(2020, 1, 1, tzinfo=UTC) + timedelta(hours=hours))
)


@settings(max_examples=60)
@given(TIMES, TIMES)
def test_the_newest_stays_and_what_goes_never_comes_to_matter_again(
    first: set[datetime], later: set[datetime]
) -> None:
    keeping = Keeping(3, 2, 2)

    stay = staying(first, keeping)

    assert not first or max(first) in stay
    assert len(stay) <= 7
    assert staying(stay, keeping) == stay
    newer = {t for t in later if not first or t > max(first)}
    assert staying(stay | newer, keeping) == staying(first | newer, keeping)

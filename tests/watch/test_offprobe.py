"""A probe that came off is remembered until it sits again."""

from datetime import UTC, datetime, timedelta

from service.watch.offprobe import Off, looked_at, off_from

NOW = datetime(2026, 11, 25, 8, tzinfo=UTC)
AIR: list[float | None] = [16.0] * 90
FALLEN: list[float | None] = [20.0] * 70 + [20 - 4 * min(1, k / 8) for k in range(20)]
OFF = Off(NOW - timedelta(hours=5), 4.0, "It has come off.")


def test_a_sudden_way_to_the_room_is_seen_and_remembered() -> None:
    seen = looked_at(None, FALLEN, AIR, None, NOW)

    assert seen is not None
    assert seen.since == NOW
    assert 3.5 < seen.gap_c < 4.5
    assert off_from(seen.to_json()) == seen
    assert off_from(None) is None


def test_beer_that_stays_is_not_off() -> None:
    assert looked_at(None, [20.0] * 90, AIR, None, NOW) is None


def test_it_stays_off_long_after_the_fall_is_out_of_sight() -> None:
    assert looked_at(OFF, [16.1] * 90, AIR, NOW - timedelta(days=3), NOW) == OFF


def test_it_sits_again_once_it_reads_beer() -> None:
    assert looked_at(OFF, [16.0] * 80 + [19.0] * 10, AIR, None, NOW) is None


def test_it_sits_again_once_it_is_still_while_the_room_moves() -> None:
    swing: list[float | None] = [16 + k / 90 for k in range(90)]

    assert looked_at(OFF, [16.4] * 90, swing, None, NOW) is None
    assert looked_at(OFF, swing, swing, None, NOW) == OFF


def test_it_is_forgotten_when_the_probe_is_hung_anew() -> None:
    assert looked_at(OFF, [16.0] * 90, AIR, NOW - timedelta(hours=1), NOW) is None


def test_silence_says_nothing() -> None:
    nothing: list[float | None] = [None] * 90

    assert looked_at(OFF, nothing, nothing, None, NOW) == OFF
    assert looked_at(None, nothing, nothing, None, NOW) is None

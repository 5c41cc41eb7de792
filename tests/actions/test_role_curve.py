"""Which probe's minutes make the curve of a role, and through which calibration."""

from datetime import timedelta

import pytest

from service.actions.evidence import beer_hours
from service.actions.known import known, temperatures
from service.actions.role_curve import role_curve
from service.record.batches import batch_by_id
from service.watch.fold import minute_of
from tests.actions.brewed import PLAN, brewed, write
from tests.rig import START, Rig

BEGAN = START - timedelta(hours=8)
M0 = minute_of(BEGAN)


def at(minutes: float) -> str:
    return (BEGAN + timedelta(minutes=minutes)).isoformat()


@pytest.fixture
def tub(rig: Rig) -> Rig:
    """A vessel, a batch of eight hours in it, and two probes that hang nowhere yet."""
    rig.post("/vessels", {"name": "Tub", "volume_l": 10})
    for label in ("One", "Two"):
        rig.post("/probes", {"label": label, "interval_s": 60})
    rig.post(
        "/batches",
        {"name": "Made ale", "vessel_id": "tub", "plan": PLAN, "og": 1.048, "started_at": BEGAN.isoformat()},
    )
    return rig


def batch_of(rig: Rig) -> str:
    return str(rig.get("/batches")["items"][0]["id"])


def hang(rig: Rig, probe: str, minutes: float, role: str | None = "liquid") -> None:
    vessel = None if role is None else "tub"
    rig.patch(f"/probes/{probe}", {"vessel_id": vessel, "role": role, "from": at(minutes)})


def curve(rig: Rig, role: str = "liquid", width: int = 1) -> dict[int, float]:
    where = [("tub", BEGAN, START)]
    with rig.record.reading() as connection:
        found = temperatures(connection, rig.watch.house, where, role, width)
    return {minute - M0: round(temp_c, 4) for minute, temp_c in found.items()}


def test_each_probe_counts_while_it_hung_there_and_the_later_one_in_the_minute_between(
    tub: Rig,
) -> None:
    write(tub, "one", [20.0] * 480, M0)
    write(tub, "two", [21.0] * 480, M0)
    hang(tub, "one", 0)

    tub.post("/probes/one/replace", {"with": "two", "at": at(90.5)})

    seen = curve(tub)
    assert [seen[k] for k in (0, 89, 90, 91, 479)] == [20.0, 20.0, 21.0, 21.0, 21.0]
    assert len(seen) == 480


def test_an_hour_in_which_probes_changed_holds_both_by_their_minutes(tub: Rig) -> None:
    write(tub, "one", [20.0] * 480, M0)
    write(tub, "two", [24.0] * 480, M0)
    hang(tub, "one", 0)

    tub.post("/probes/one/replace", {"with": "two", "at": at(75)})

    with tub.record.reading() as connection:
        row = batch_by_id(connection, batch_of(tub))
        hours = beer_hours(connection, tub.watch.house, row, BEGAN, START)
    assert [h.temp_c for h in hours] == [20.0, 23.0, *[24.0] * 6]
    assert curve(tub, width=60)[60] == 23.0


def test_a_probe_that_was_taken_away_still_tells_of_its_time(tub: Rig) -> None:
    write(tub, "one", [20.0] * 480, M0)
    hang(tub, "one", 0)

    gone = tub.client.delete("/api/v1/probes/one")

    assert gone.status_code == 204
    assert curve(tub, width=60)[0] == 20.0
    with tub.record.reading() as connection:
        told = known(connection, tub.watch.house, batch_by_id(connection, batch_of(tub)), START)
    assert told.beer is not None
    assert len(told.beer.temp_c) == 480
    assert tub.get(f"/batches/{batch_of(tub)}/summary")["warmest_hour"]["temp_c"] == 20.0


def test_of_two_in_one_role_the_later_counts_and_the_other_where_that_one_was_silent(tub: Rig) -> None:
    write(tub, "one", [16.0] * 480, M0)
    write(tub, "two", [17.0] * 60, M0 + 60)
    hang(tub, "one", 0, "surroundings")
    hang(tub, "two", 30, "surroundings")

    seen = curve(tub, "surroundings")

    assert [seen[k] for k in (29, 59, 60, 119, 120)] == [16.0, 16.0, 17.0, 17.0, 16.0]


def test_each_minute_is_brought_through_the_calibration_that_held_then(tub: Rig) -> None:
    write(tub, "one", [20.0] * 480, M0)
    hang(tub, "one", 0)
    point = {"method": "reference", "reading_c": 20, "reference_c": 20.6, "from": at(75)}
    tub.post("/probes/one/calibrations", point)

    with tub.record.reading() as connection:
        hour = role_curve(connection, tub.watch.house, [("tub", BEGAN, START)], "liquid", 60)[1]

    assert hour.mean_mc == pytest.approx(20_450)
    assert (hour.min_mc, hour.max_mc, hour.minutes) == (20_000, 20_600, 60)
    assert [curve(tub)[k] for k in (74, 75)] == [20.0, 20.6]


def test_an_estimate_is_the_same_whether_the_probe_is_still_there_or_not(rig: Rig) -> None:
    batch_id = brewed(rig, hours=30)
    with rig.record.reading() as connection:
        before = known(connection, rig.watch.house, batch_by_id(connection, batch_id), START)

    rig.client.delete("/api/v1/probes/air")

    with rig.record.reading() as connection:
        after = known(connection, rig.watch.house, batch_by_id(connection, batch_id), START)
    assert after.air == before.air
    assert after.air is not None


def test_nothing_was_measured_where_nothing_hung(tub: Rig) -> None:
    write(tub, "one", [20.0] * 480, M0)

    assert curve(tub) == {}

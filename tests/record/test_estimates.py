"""Estimates kept in the record."""

from datetime import timedelta

from service.record.estimates import keep_estimate, kept_estimates
from tests.rig import START, Rig, with_batch

HOUR = timedelta(hours=1)


def test_the_newest_is_kept_whole_and_earlier_ones_small(rig: Rig) -> None:
    batch = with_batch(rig)

    for n in range(3):
        body = {"verdict": f"v{n}", "thermal": {"tau_h": n}}
        rig.record.write(lambda c, n=n, body=body: keep_estimate(c, batch, START + n * HOUR, body))

    with rig.record.reading() as connection:
        kept = kept_estimates(connection, batch, limit=10)
    assert [(k.at, k.body["verdict"], k.body["thermal"]) for k in kept] == [
        (START + 2 * HOUR, "v2", {"tau_h": 2}),
        (START + HOUR, "v1", None),
        (START, "v0", None),
    ]


def test_one_of_the_same_time_is_replaced(rig: Rig) -> None:
    batch = with_batch(rig)

    for verdict in ("working", "slowing"):
        rig.record.write(lambda c, v=verdict: keep_estimate(c, batch, START, {"verdict": v}))

    with rig.record.reading() as connection:
        assert [k.body["verdict"] for k in kept_estimates(connection, batch, limit=10)] == ["slowing"]


def test_only_those_since_a_time_are_given(rig: Rig) -> None:
    batch = with_batch(rig)
    for n in range(3):
        rig.record.write(lambda c, n=n: keep_estimate(c, batch, START + n * HOUR, {}))

    with rig.record.reading() as connection:
        found = kept_estimates(connection, batch, START + HOUR, 10)

    assert [k.at for k in found] == [START + 2 * HOUR, START + HOUR]

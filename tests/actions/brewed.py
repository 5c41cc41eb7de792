"""A batch some days old in the rig, with its minutes in the record; beer and room are made by hand."""

from datetime import timedelta
from typing import Any

from service.record.minutes import MinuteRow, write_minutes
from service.watch.fold import minute_of
from tests.rig import START, Rig
from tests.thermal.build import Made, batch

PLAN: dict[str, Any] = {
    "name": "Made ale",
    "stages": [
        {
            "key": "primary",
            "kind": "primary",
            "target_c": 20.5,
            "low_c": 17,
            "high_c": 24,
            "lasts_s": 864000,
            "ends": "steady-gravity",
        },
        {"key": "bottles", "kind": "condition", "target_c": 20, "lasts_s": 1209600, "ends": "brewer"},
    ],
}


def write(rig: Rig, probe_id: str, temps: Any, first_minute: int) -> None:
    """Store one value a minute for a probe."""
    from service.record.vessels import probe_by_id

    def work(connection: Any) -> None:
        number = probe_by_id(connection, probe_id).number
        write_minutes(
            connection,
            [MinuteRow(number, first_minute + k, round(t * 1000), 0, 0, 6) for k, t in enumerate(temps)],
        )

    rig.record.write(work)


def with_probes(rig: Rig, since: str, air: bool = True) -> None:
    """A vessel of ten litres with a probe in it and one beside it."""
    rig.post("/vessels", {"name": "Tub", "volume_l": 10, "wall": "plastic"})
    for label, role in (("Beer", "liquid"), *((("Air", "surroundings"),) if air else ())):
        rig.post("/probes", {"label": label, "interval_s": 60})
        rig.patch(
            f"/probes/{label.lower()}",
            {"vessel_id": "tub", "role": role, "mounting": "thermowell", "from": since},
        )


def brewed(rig: Rig, hours: int = 100, made: Made | None = None, air: bool = True, **more: Any) -> str:
    """A batch pitched so many hours ago that fermented as `made`; returns its id."""
    made = made or batch(hours)
    began = START - timedelta(hours=hours)
    with_probes(rig, began.isoformat(), air)
    write(rig, "beer", made.beer_c[: hours * 60], minute_of(began))
    if air:
        write(rig, "air", made.air_c[: hours * 60], minute_of(began))
    body = {
        "name": "Made ale",
        "vessel_id": "tub",
        "plan": PLAN,
        "og": made.og,
        "started_at": began.isoformat(),
        **more,
    }
    return str(rig.post("/batches", {k: v for k, v in body.items() if v is not None})["id"])

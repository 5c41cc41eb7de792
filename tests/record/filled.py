"""A record with something in every corner: made through the program's own doors, then closed."""

from datetime import timedelta
from pathlib import Path
from threading import Event

from sqlalchemy import Connection

from sensors.sample import FaultKind
from service.record.access import AccountRow, TokenRow, add_account, add_session, add_token
from service.record.audit import AuditRow, add_audit
from service.record.estimates import keep_estimate
from service.record.marks import add_doubtful
from service.record.minutes import MinuteRow, keep_undated
from tests.rig import PROBE, START, Rig, rig_in, with_batch

paused = Event().wait
"""The pause of work that is never given up."""


def fill(rig: Rig) -> str:
    """A batch with readings, notes, a pushed probe, a channel, a stray and its alarm; returns its id."""
    batch = with_batch(rig, og=1.048, expected_fg=1.011)
    rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook/s3cret"})
    rig.post("/plans", {"name": "Kept", "stages": [{"key": "p", "kind": "primary", "target_c": 19}]})
    air = {"label": "Cupboard", "vessel_id": "bucket", "role": "surroundings", "interval_s": 60}
    rig.post("/probes", {**air, "source": "pushed"})
    rig.post(f"/probes/{PROBE}/calibrations", {"method": "reference", "reference_c": 20.2, "reading_c": 20.0})
    rig.until(660)
    rig.post("/probes/cupboard/samples", {"samples": [{"at": _ago(rig, 30), "temp_c": 17.5}]})
    rig.post(f"/batches/{batch}/readings", {"sg": 1.046})
    rig.post(
        f"/batches/{batch}/notes", {"text": 'Smells of <b>bread</b> & \U0001f35e, "quoted"; a, b\nsecond'}
    )
    rig.post(f"/batches/{batch}/sightings", {"what": "foam-up"})
    rig.post(f"/batches/{batch}/additions", {"what": "Candi sugar", "mass_g": 100, "extract_share": 1})
    rig.source.values[PROBE] = 22.6
    rig.until(900)
    units = [{"kind": "bottle", "size_l": 0.5, "count": 9}]
    rig.post(f"/batches/{batch}/packagings", {"units": units, "sugar": "white", "sugar_g": 25})
    rig.post("/vessels/bucket/heater", {"changes": [{"at": _ago(rig, 60), "on": True}]})
    away = {"from": _ago(rig, -86400), "to": _ago(rig, -2 * 86400), "channel_id": "hall", "note": "Away"}
    rig.post("/absences", away)
    rig.patch(f"/batches/{batch}/stages/1", {"lasts_s": 800_000})
    rig.post(f"/batches/{batch}/notes", {"text": "Once"}, **{"Idempotency-Key": "once"})
    rig.source.faults[PROBE] = FaultKind.CRC
    rig.rounds(8)
    rig.record.write(lambda connection: _rare(connection, batch))
    return batch


def _rare(connection: Connection, batch: str) -> None:
    """What takes an untrusted clock or an hour's computing to come about."""
    keep_undated(connection, "boot-0", [MinuteRow(1, 3, 20_000, 62, 0, 6)])
    add_doubtful(connection, START, START + timedelta(minutes=9), "the clock was not set")
    keep_estimate(connection, batch, START + timedelta(minutes=5), {"verdict": "waiting", "share": None})


def _people(connection: Connection) -> None:
    """Somebody who may log in, is logged in, and has changed something; and a device."""
    add_account(connection, AccountRow("attic", "Attic", "$argon2id$no-hash", START, START))
    add_session(connection, "5e55104" * 9, "attic", START, "127.0.0.1")
    add_token(connection, TokenRow("shed", "Shed", "push", "70c3" * 16, START, "Attic", START))
    add_audit(connection, AuditRow(START, "Attic", "session", "127.0.0.1", "POST /vessels", ("name",)))


def _ago(rig: Rig, seconds: float) -> str:
    return (rig.clock.at - timedelta(seconds=seconds)).isoformat()


def filled_record(folder: Path) -> str:
    """The same as a closed record in a folder; returns the batch's id."""
    folder.mkdir(exist_ok=True)
    with rig_in(folder) as rig:
        batch = fill(rig)
        rig.record.write(_people)
        rig.watch.stop()
    return batch


NOW = START + timedelta(hours=3)

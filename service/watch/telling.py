"""What open pages are told of: samples as they are judged, alarms and stages after their commit."""

from collections.abc import Iterable, Mapping
from datetime import datetime

from sensors.sample import Sample
from service.alarms.model import AlarmState, Subject
from service.watch.house import House
from service.watch.judge import band_now
from service.watch.publish import Broker
from service.watch.shapes import alarm_shape, said_at


def tell_samples(broker: Broker, house: House, samples: Iterable[Sample]) -> None:
    """Tell of samples, each with the place its probe had then."""
    for sample in samples:
        place = house.assigned(sample.at, sample.probe_id)
        broker.publish(
            "sample",
            {
                "probe_id": sample.probe_id,
                "vessel_id": None if place is None else place.vessel_id,
                "role": None if place is None else place.role,
                "temp_c": round(sample.temp_c, 4),
                "at": said_at(sample.at),
            },
        )


def tell_alarms(
    broker: Broker, before: Mapping[Subject, AlarmState], after: Mapping[Subject, AlarmState]
) -> None:
    """Tell of the alarms that a page would show differently now."""
    for subject, state in after.items():
        was = before.get(subject)
        if state.alarm_id is None or was == state:
            continue
        if was is None or alarm_shape(was, None) != alarm_shape(state, None):
            broker.publish("alarm", alarm_shape(state, state.alarm_id))


def tell_stage(broker: Broker, batch_id: str, stage: str | None) -> None:
    """Tell that a batch is in another stage."""
    broker.publish("stage", {"batch_id": batch_id, "stage": stage})


def tell_stage_now(broker: Broker, house: House, batch_id: str, now: datetime) -> None:
    """Tell in which stage a batch is now."""
    live = next((b for b in house.batches if b.row.id == batch_id), None)
    here = None if live is None else band_now(live, now)
    tell_stage(broker, batch_id, None if here is None else here[0].key)

"""Taking in what arrives over the network: dated, screened, stored, and then live."""

from collections.abc import Sequence
from datetime import datetime

from sensors.sample import ProbeId, Sample
from sensors.screening import Believed
from service.errors import GylewatchError, UnavailableError
from service.record.database import Record
from service.record.types import to_ms
from service.record.vessels import probe_by_id
from service.watch import arrivals
from service.watch.fold import milli
from service.watch.gather import interval_of
from service.watch.house import House
from service.watch.intake import Intake
from service.watch.typed import TYPED


class Reception:
    """Takes samples that arrive; what it answers was committed before."""

    def __init__(self, record: Record, intake: Intake, sweep_s: float) -> None:
        self._record = record
        self._intake = intake
        self._sweep_s = sweep_s

    def take(
        self,
        house: House,
        probe_id: ProbeId,
        samples: Sequence[tuple[int, datetime, float]],
        now: datetime,
        doubt: str,
    ) -> tuple[arrivals.Arrived, Sample | None]:
        """Take samples as (index, time, value); also the newest that is not past, for open pages.

        Raises UnavailableError while the clock is doubted, NotFoundError for an unknown probe.
        """
        if doubt:
            raise UnavailableError(f"Samples cannot be dated now: {doubt}. Send them again in some minutes.")
        with self._record.reading() as connection:
            probe = probe_by_id(connection, probe_id)
            times = [to_ms(at) for _, at, _ in samples]
            stored = arrivals.stored_values(connection, probe.number, times)
        past_after_s = max(3 * interval_of(probe, self._sweep_s), arrivals.PAST_LEAST_S)
        before = self._intake.pushed_state(probe_id)
        # what a person reads off and types in is no wire's lie: it is only looked at for its range
        screening = Believed if probe.source == TYPED else self._intake.screen_pushed
        arrived, rows = arrivals.look_at(probe_id, samples, stored, screening, now, past_after_s)
        try:
            self._record.write(lambda c: arrivals.store(c, probe.number, rows, now))
        except GylewatchError:
            # a sender repeats what was not stored: its repeats must not bear each other out
            self._intake.pushed_back(probe_id, before)
            raise
        for fault in arrived.faults:
            self._intake.note_fault(fault)
        newest: Sample | None = None
        for value in arrived.taken:
            age_s = (now - value.at).total_seconds()
            if age_s > past_after_s:
                continue
            temp_c = house.calibrated(probe_id, value.raw_c, value.at)
            newest = Sample(probe_id, value.at, milli(value.raw_c) / 1000, temp_c)
            self._intake.take_pushed(newest, age_s)
        return arrived, newest

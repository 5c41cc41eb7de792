"""Vessels and probes over HTTP."""

from fastapi import APIRouter, Response

from service.actions import care as care_actions
from service.actions import probes as probe_actions
from service.actions import vessels as vessel_actions
from service.actions.answers import CalibrationAnswer, HeaterAnswer, ProbeAnswer, Receipt, VesselAnswer
from service.actions.asks import (
    CalibrationPoint,
    HeaterChanges,
    NewProbe,
    NewVessel,
    ProbeChange,
    PushedSamples,
    Replacement,
    VesselChange,
)
from service.actions.wire import Page
from service.api.at_hand import AtHand, made
from service.api.paging import Cursor, ItemNumber, Limit, page_of

router = APIRouter(tags=["vessels and probes"])


@router.get("/vessels")
def list_vessels(desk: AtHand, limit: Limit = 100, cursor: Cursor = None) -> Page[VesselAnswer]:
    """Every vessel as it is now."""
    items, more = page_of(vessel_actions.every_vessel(desk), limit, cursor, lambda v: v.id)
    return Page(items=items, next=more)


@router.post("/vessels", status_code=201)
def create_vessel(desk: AtHand, ask: NewVessel, response: Response) -> VesselAnswer:
    """A new vessel; only its name is required."""
    answer = vessel_actions.make_vessel(desk, ask)
    made(response, f"/api/v1/vessels/{answer.id}")
    return answer


@router.get("/vessels/{vessel_id}")
def read_vessel(desk: AtHand, vessel_id: str) -> VesselAnswer:
    """One vessel as it is now."""
    return vessel_actions.one_vessel(desk, vessel_id)


@router.patch("/vessels/{vessel_id}")
def change_vessel(desk: AtHand, vessel_id: str, ask: VesselChange) -> VesselAnswer:
    """Change a vessel (JSON merge patch)."""
    return vessel_actions.alter_vessel(desk, vessel_id, ask)


@router.delete("/vessels/{vessel_id}", status_code=204)
def delete_vessel(desk: AtHand, vessel_id: str) -> None:
    """Take a vessel away; its record stays."""
    vessel_actions.take_vessel_away(desk, vessel_id)


@router.get("/probes")
def list_probes(desk: AtHand, limit: Limit = 100, cursor: Cursor = None) -> Page[ProbeAnswer]:
    """Every probe and how it fares."""
    items, more = page_of(probe_actions.every_probe(desk), limit, cursor, lambda p: p.id)
    return Page(items=items, next=more)


@router.post("/probes", status_code=201)
def create_probe(desk: AtHand, ask: NewProbe, response: Response) -> ProbeAnswer:
    """Declare a probe whose values arrive: pushed over HTTP, or over MQTT."""
    answer = probe_actions.declare_probe(desk, ask)
    made(response, f"/api/v1/probes/{answer.id}")
    return answer


@router.get("/probes/{probe_id}")
def read_probe(desk: AtHand, probe_id: str) -> ProbeAnswer:
    """One probe and how it fares."""
    return probe_actions.one_probe(desk, probe_id)


@router.patch("/probes/{probe_id}")
def change_probe(desk: AtHand, probe_id: str, ask: ProbeChange) -> ProbeAnswer:
    """Change a probe, or hang it somewhere else (JSON merge patch)."""
    return probe_actions.alter_probe(desk, probe_id, ask)


@router.delete("/probes/{probe_id}", status_code=204)
def delete_probe(desk: AtHand, probe_id: str) -> None:
    """Forget a probe that is gone; its series stays."""
    probe_actions.take_probe_away(desk, probe_id)


@router.get("/probes/{probe_id}/calibrations")
def list_calibrations(
    desk: AtHand, probe_id: str, limit: Limit = 100, cursor: Cursor = None
) -> Page[CalibrationAnswer]:
    """The history of a probe's calibration."""
    every = care_actions.calibrations_of(desk, probe_id)
    items, more = page_of(every, limit, cursor, lambda c: str(c.n))
    return Page(items=items, next=more)


@router.post("/probes/{probe_id}/calibrations", status_code=201)
def create_calibration(
    desk: AtHand, probe_id: str, ask: CalibrationPoint, response: Response
) -> CalibrationAnswer:
    """A point; those of one day, at most three, make one line."""
    answer = care_actions.calibrate(desk, probe_id, ask)
    made(response, f"/api/v1/probes/{probe_id}/calibrations/{answer.n}")
    return answer


@router.delete("/probes/{probe_id}/calibrations/{n}", status_code=204)
def delete_calibration(desk: AtHand, probe_id: str, n: ItemNumber) -> None:
    """Take a calibration back."""
    care_actions.take_calibration_back(desk, probe_id, n)


@router.post("/probes/{probe_id}/replace")
def replace_probe(desk: AtHand, probe_id: str, ask: Replacement) -> ProbeAnswer:
    """Swap a dead probe; the batch's series goes on with the new one."""
    return care_actions.replace_probe(desk, probe_id, ask)


@router.post("/vessels/{vessel_id}/heater")
def heater_record(desk: AtHand, vessel_id: str, ask: HeaterChanges) -> HeaterAnswer:
    """When something else switched a heater or cooler at this vessel."""
    return care_actions.note_heater(desk, vessel_id, ask)


@router.post("/probes/{probe_id}/samples")
def push_samples(desk: AtHand, probe_id: str, ask: PushedSamples) -> Receipt:
    """Take samples that arrive; the answer follows the commit."""
    return probe_actions.push(desk, probe_id, ask.samples)

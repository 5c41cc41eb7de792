"""A batch's record going out, and batches compared. These paths come before that of a batch's id alone."""

from typing import Annotated, Any

from fastapi import APIRouter, Query
from fastapi.responses import HTMLResponse, StreamingResponse

from service.actions import compare as compare_actions
from service.actions import export
from service.actions.compare import Comparison
from service.actions.record_answers import record_schema
from service.api.at_hand import AtHand
from service.api.report.page import policy, report_page

router = APIRouter(tags=["the record"])


@router.get("/batches/record.schema.json")
def schema_of_records() -> dict[str, Any]:
    """The JSON Schema of a batch's record."""
    return record_schema()


@router.get("/batches/compare")
def compare(desk: AtHand, ids: Annotated[str, Query(max_length=1000)]) -> Comparison:
    """Batches side by side, aligned at pitching; their ids with commas between."""
    return compare_actions.compare(desk, [one for one in ids.split(",") if one])


@router.get("/batches/{batch_id}/record.json", response_class=StreamingResponse)
def record_json(desk: AtHand, batch_id: str) -> StreamingResponse:
    """The whole record of a batch as one JSON document."""
    return StreamingResponse(
        export.record_json(desk, batch_id), headers=_named(f"{batch_id}.json"), media_type="application/json"
    )


@router.get("/batches/{batch_id}/record.csv", response_class=StreamingResponse)
def record_csv(desk: AtHand, batch_id: str) -> StreamingResponse:
    """Its temperatures by the minute as CSV (RFC 4180)."""
    return StreamingResponse(
        export.record_csv(desk, batch_id), headers=_named(f"{batch_id}.csv"), media_type="text/csv"
    )


@router.get("/batches/{batch_id}/report", response_class=HTMLResponse)
def report(desk: AtHand, batch_id: str) -> HTMLResponse:
    """A page about the batch that needs nothing else, to print or to keep."""
    return HTMLResponse(report_page(desk, batch_id), headers={"Content-Security-Policy": policy()})


def _named(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{name}"'}

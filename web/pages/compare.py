"""Batches side by side: chosen on the list of batches, asked for by address, so that it can be kept."""

from collections.abc import Sequence
from typing import Annotated, Protocol

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from service.errors import GylewatchError, InvalidInputError
from web.comparing import ComparisonView
from web.house import PageHouse
from web.pages.batches import BatchLine
from web.rendering import Renderer

MOST = 6
TOO_FEW = "Choose two to six batches."


class CompareHouse(PageHouse, Protocol):
    """What the page needs."""

    def batches(self) -> Sequence[BatchLine]:
        """Every batch, running ones first, then newest first."""
        ...

    def compared(self, ids: Sequence[str]) -> ComparisonView:
        """These batches side by side, in this order. NotFoundError, InvalidInputError."""
        ...


def router(house: CompareHouse, render: Renderer) -> APIRouter:
    """The page: a choice, and below it what came of the choice."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/compare")
    def compare(request: Request, batch: Annotated[list[str] | None, Query()] = None) -> HTMLResponse:
        chosen = list(dict.fromkeys(batch or []))
        seen, wrong, status = None, "", 200
        if batch is not None and not 2 <= len(chosen) <= MOST:
            wrong, status = TOO_FEW, 422
        elif chosen:
            try:
                seen = house.compared(chosen)
            except InvalidInputError:
                wrong, status = TOO_FEW, 422
            except GylewatchError as error:
                return render.refusal(request, error)
        return render.page(
            request,
            "compare.html",
            status=status,
            batches=house.batches(),
            chosen=chosen,
            seen=seen,
            wrong=wrong,
        )

    return routes

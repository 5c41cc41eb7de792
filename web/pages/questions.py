"""Yes or no to a question about a forgotten button; it is shown on the stove's page and the batch's."""

from typing import Protocol

from fastapi import APIRouter, Request
from fastapi.responses import Response

from web.counter import Counter
from web.house import PageHouse
from web.typed import Values

BACK = {"stove": "/stove/{}", "batch": "/batches/{}"}


class QuestionsHouse(PageHouse, Protocol):
    """What the two buttons need."""

    def answer_question(self, batch_id: str, what: str, by: str, *, yes: bool) -> None:
        """Answers what is asked. NotFoundError when it is not asked any more."""
        ...


def router(house: QuestionsHouse, counter: Counter) -> APIRouter:
    """The two buttons."""
    routes = APIRouter(include_in_schema=False)

    @routes.post("/batches/{batch_id}/questions/{what}/{word}")
    def answer(request: Request, batch_id: str, what: str, word: str, values: Values) -> Response:
        def act(who: str) -> str:
            house.answer_question(batch_id, what, who, yes=word == "yes")
            return BACK.get(values.get("back", ""), BACK["batch"]).format(batch_id)

        return counter.take(request, values, act)

    return routes

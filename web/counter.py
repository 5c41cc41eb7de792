"""Where forms are handed in: whose they are, whether they came before, and where they lead."""

import threading
from collections.abc import Callable, Mapping

from fastapi import Request
from fastapi.responses import HTMLResponse, Response

from service.errors import ConflictError, GylewatchError, InvalidInputError, Problem
from web.form import Form
from web.house import PageHouse
from web.rendering import Renderer, back_to
from web.said import said_problem

TOO_LONG_OPEN = Problem(
    "", "This page was open for too long, or the form came from elsewhere.", "Look it over and send it again."
)


class Counter:
    """Takes forms in: whose they are, whether they came before, and where they lead."""

    def __init__(self, house: PageHouse, render: Renderer) -> None:
        self._house = house
        self._render = render
        self._busy: set[str] = set()
        self._lock = threading.Lock()

    def take(
        self,
        request: Request,
        values: Mapping[str, str],
        act: Callable[[str], str],
        again: Callable[[Form, int], HTMLResponse] | None = None,
    ) -> Response:
        """Lets `act` do the work (given the sender's name, giving the path to go to).

        A refusal shows the form `again` with what was typed, or a page that says why where there is none.
        So does a form without our token: a page that stayed open over a restart loses nothing typed, and
        what came from elsewhere waits for a person to send it.
        The same form sent a second time goes where it went the first time, and nothing is done.
        """
        who = self._house.admit(request, values.get("token", ""))
        once = values.get("once", "")
        if who is None:
            if again is None:
                return self._render.stranger(request, values)
            return again(Form(once, values, (TOO_LONG_OPEN,)), 403)
        if once and not self._enter(once):
            return self._render.refusal(request, ConflictError("This form is being worked on already."))
        try:
            if once and (path := self._house.led_to(once)) is not None:
                return back_to(request, path)
            path = act(who)
            if once:
                self._house.remember(once, path)
        except InvalidInputError as error:
            if again is None:
                return self._render.refusal(request, error)
            taste = self._house.taste()
            return again(Form(once, values, tuple(said_problem(p, taste) for p in error.problems)), 422)
        except ConflictError as error:
            if again is None:
                return self._render.refusal(request, error)
            return again(Form(once, values, (Problem("", str(error)),)), 409)
        except GylewatchError as error:
            return self._render.refusal(request, error)
        finally:
            self._leave(once)
        return back_to(request, path)

    def _enter(self, once: str) -> bool:
        with self._lock:
            fresh = once not in self._busy
            self._busy.add(once)
        return fresh

    def _leave(self, once: str) -> None:
        with self._lock:
            self._busy.discard(once)

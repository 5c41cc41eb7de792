"""From a template and plain values to a page; everything put into a page is escaped."""

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, Protocol

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse
from jinja2 import Environment, PackageLoader, StrictUndefined

from service.access.who import WHO, How, Who
from service.errors import ConflictError, GylewatchError, InvalidInputError, NotFoundError, UnavailableError
from web import answer, comparing, rehearsing, scale, series, summary, telling, words
from web.form import Form
from web.house import PageHouse
from web.said import said
from web.static_files import StaticFiles
from web.views import AlarmState

HEADERS: Mapping[str, str] = {"Cache-Control": "no-store"}
PLACES = (
    ("/", "Vessels"),
    ("/alarms", "Alarms"),
    ("/batches", "Batches"),
    ("/probes", "Probes"),
    ("/numbers", "Numbers"),
    ("/settings", "Settings"),
)
NEVER_KEPT = ("token", "password")
WAITING = (AlarmState.UNACKNOWLEDGED, AlarmState.RETURNED)
STATUS: tuple[tuple[type[GylewatchError], int], ...] = (
    (NotFoundError, 404),
    (ConflictError, 409),
    (InvalidInputError, 422),
    (UnavailableError, 503),
)


@cache
def environment() -> Environment:
    """The templates with what they may use; an unknown name is an error, not an empty place."""
    env = Environment(
        loader=PackageLoader("web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.globals.update(
        duration=words.duration,
        duration_s=words.duration_s,
        clock=words.clock,
        capital=words.capital,
        lowered=words.lowered,
        counted=words.counted,
        choices=choices,
        day_url=series.day_url,
        chart_url=series.chart_url,
        blank=Form(),
        number=words.number,
        said=said,
        place=answer.place,
        is_read=answer.is_read,
        strip_of=scale.strip,
        position_words=summary.position_words,
        trend_words=summary.trend_words,
        day_sentence=summary.day_sentence,
        stage_left=summary.stage_left,
        ahead_sentence=telling.ahead_sentence,
        gravity_sentence=telling.gravity_sentence,
        gravity_rows=telling.gravity_rows,
        picture_of=rehearsing.picture,
        stray_words=rehearsing.stray_words,
        sheet_of=comparing.sheet,
        value_words=comparing.value_words,
        spread_words=comparing.spread_words,
        apart_of=comparing.apart,
        alike_of=comparing.alike,
    )
    return env


class Named(Protocol):
    """Something with an id and a name, to choose from."""

    @property
    def id(self) -> str: ...

    @property
    def name(self) -> str: ...


def choices(named: Iterable[Named], none: str = "") -> list[tuple[str, str]]:
    """Options for a field; `none` is offered first, when there are words for it."""
    first = [("", none)] if none else []
    return first + [(one.id, one.name) for one in named]


class Renderer:
    """Turns templates into responses for one house."""

    def __init__(self, house: PageHouse, static: StaticFiles) -> None:
        self._house = house
        self._static = static
        self._env = environment()

    def page(self, request: Request, template: str, *, status: int = 200, **context: Any) -> HTMLResponse:
        """A whole page; `context` is what its template names beyond the frame's own values."""
        base = request.scope.get("root_path", "")
        standing = context.pop("standing", None)
        if standing is None:
            standing = self._house.standing()
        frame = {
            "base": base,
            "here": request.url.path.removeprefix(base) or "/",
            "asset": lambda path: self._static.url(base, path),
            "modules": lambda path: self._static.modules(base, path),
            "sheets": lambda *paths: self._static.sheets(base, *paths),
            "script": lambda path: self._static.script(base, path),
            "now": self._house.now(),
            "taste": self._house.taste(),
            "token": self._house.form_token(request),
            "places": PLACES,
            "visitor": visitor(request),
            "standing": answer.in_order(standing),
            "waiting": sum(alarm.state in WAITING for alarm in standing),
        }
        html = self._env.get_template(template).render(**{**frame, **context})
        return HTMLResponse(html, status, headers=dict(HEADERS))

    def refusal(self, request: Request, error: GylewatchError) -> HTMLResponse:
        """A page that says what could not be done, with the status that fits."""
        status = next((code for kind, code in STATUS if isinstance(error, kind)), 400)
        return self.page(request, "refused.html", status=status, why=str(error))

    def stranger(self, request: Request, values: Mapping[str, str]) -> HTMLResponse:
        """The answer to a form without our token: nothing is done until a person sends it from here again."""
        kept = {name: value for name, value in values.items() if name not in NEVER_KEPT}
        return self.page(request, "again.html", status=403, kept=kept, action=request.url.path)


def visitor(request: Request) -> str:
    """The name of who is logged in, or an empty text."""
    who: Who | None = request.scope.get(WHO)
    return who.name if who is not None and who.how is How.SESSION else ""


def back_to(request: Request, path: str, fallback: str = "/") -> RedirectResponse:
    """Sends the browser to a page of ours; a path that could lead elsewhere becomes `fallback`."""
    ours = path.startswith("/") and not path.startswith(("//", "/\\")) and path.isprintable()
    base = request.scope.get("root_path", "")
    return RedirectResponse(f"{base}{path if ours else fallback}", 303)

"""The page a message's link leads to: it shows one alarm and a button. Only the button acts.

Programs that look at links ahead of their reader fetch a page, but send no form. The page needs nothing
of the other pages, so that it opens on a phone with little but a browser.
"""

from html import escape

from fastapi import APIRouter, Request
from starlette.responses import HTMLResponse, Response

from service.actions.answers import AlarmAnswer
from service.actions.desk import Desk
from service.actions.links import acknowledge_by_link, alarm_of_link
from service.alarms.catalogue import CATALOGUE
from service.api.at_hand import AtHand
from service.errors import ConflictError, NotFoundError
from service.notify.links import LinkExpiredError, LinkForgedError
from service.watch.links import PATH

router = APIRouter(include_in_schema=False)

STYLE = """body {
  font: 1.1rem/1.5 system-ui, sans-serif; margin: 1.5rem auto; max-width: 34rem; padding: 0 1rem
}
h1 { font-size: 1.4rem }
button { font: inherit; padding: .8rem 1.2rem; min-height: 3rem; width: 100% }
@media (prefers-color-scheme: dark) { :root { color-scheme: dark } }
"""
HEADERS = {"Cache-Control": "no-store", "X-Robots-Tag": "noindex"}


@router.get(f"{PATH}/style.css")
def style() -> Response:
    """How the page looks."""
    return Response(STYLE, media_type="text/css", headers={"Cache-Control": "max-age=86400"})


@router.get(f"{PATH}/{{token}}")
def show(desk: AtHand, request: Request, token: str) -> HTMLResponse:
    """The alarm and a button; nothing happens."""
    base = request.scope.get("root_path", "")
    try:
        alarm = alarm_of_link(desk, token)
    except (LinkForgedError, LinkExpiredError, NotFoundError) as refused:
        return _refusal(base, refused)
    about = f"{_headline(desk, alarm)} ({alarm.id})"
    if alarm.acknowledged_at is not None:
        return _page(
            base, "Acknowledged already", [f"{alarm.acknowledged_by} has acknowledged this alarm."], about
        )
    if alarm.state == "normal":
        return _page(base, "This alarm is over", ["Nothing is left to acknowledge."], about)
    button = '<form method="post"><button>I have seen it</button></form>'
    return _page(
        base, _headline(desk, alarm), [f"{alarm.reason}.", alarm.consequence, alarm.advice], "", button
    )


@router.post(f"{PATH}/{{token}}")
def act(desk: AtHand, request: Request, token: str) -> HTMLResponse:
    """Acknowledge the alarm."""
    base = request.scope.get("root_path", "")
    try:
        alarm = acknowledge_by_link(desk, token)
    except ConflictError as refused:
        return _page(base, "Nothing was done", [str(refused)], status=409)
    except (LinkForgedError, LinkExpiredError, NotFoundError) as refused:
        return _refusal(base, refused)
    return _page(
        base, "Thank you", ["The alarm is acknowledged; no more reminders will come."], _headline(desk, alarm)
    )


def _refusal(base: str, refused: Exception) -> HTMLResponse:
    status = 410 if isinstance(refused, LinkExpiredError) else 404
    return _page(base, "This link cannot be used", [str(refused)], status=status)


def _headline(desk: Desk, alarm: AlarmAnswer) -> str:
    vessel = desk.watch.house.vessels.get(alarm.vessel_id or "")
    name = alarm.vessel_id if vessel is None else vessel.name
    title = CATALOGUE[alarm.key].title
    return title if name is None else f"{name}: {title}"


def _page(
    base: str, title: str, words: list[str], about: str = "", form: str = "", status: int = 200
) -> HTMLResponse:
    about = f"<p>{escape(about)}</p>" if about else ""
    said = "".join(f"<p>{escape(one)}</p>" for one in words)
    return HTMLResponse(
        '<!doctype html>\n<html lang="en"><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<title>{escape(title)}</title><link rel="stylesheet" href="{base}{PATH}/style.css">'
        f"<main><h1>{escape(title)}</h1>{said}{form}{about}"
        f'<p><a href="{base}/alarms">All alarms</a></p></main></html>',
        status,
        HEADERS,
    )

"""The settings a person changes from the page: where messages go, each with a trial."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from service.errors import GylewatchError
from web.counter import Counter
from web.form import Form
from web.house import PageHouse
from web.rendering import Renderer
from web.typed import Typed, Values

KINDS = (
    ("webhook", "a web address"),
    ("mail", "mail"),
    ("apprise", "another service, by an apprise address"),
)
SECURITIES = (("starttls", "STARTTLS"), ("tls", "TLS from the start"), ("none", "none"))
PRIORITIES = (("low", "all messages"), ("medium", "medium and high"), ("high", "only high"))
EVERY_DAY = ("every-day", "Every day")
WEEKDAYS = tuple(
    (day.lower(), day)
    for day in ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
)


@dataclass(frozen=True, slots=True)
class ChannelView:
    """A way for messages to leave. where: its address with secrets masked. health: how it fared, in words.

    quiet: when its quiet time begins and ends, such as 22:00 and 07:00, by weekday or ``every-day``.
    """

    id: str
    name: str
    kind: str
    where: str
    health: str = ""
    failing: bool = False
    least_priority: str = "low"
    quiet: Mapping[str, tuple[str, str]] = field(default_factory=dict)
    for_helper: bool = False
    digest_at: str = ""


@dataclass(frozen=True, slots=True)
class Trial:
    """What became of a trial message."""

    delivered: bool
    far_end: str
    took_ms: float | None = None


class SettingsHouse(PageHouse, Protocol):
    """What the settings need."""

    def channels(self) -> Sequence[ChannelView]:
        """Every channel."""
        ...

    def add_channel(self, by: str, fields: Mapping[str, Any]) -> str:
        """Makes a channel and gives its id. InvalidInputError."""
        ...

    def change_channel(self, channel_id: str, by: str, fields: Mapping[str, Any]) -> None:
        """Changes when a channel speaks, and of what. InvalidInputError, NotFoundError."""
        ...

    def try_channel(self, channel_id: str, by: str) -> Trial:
        """Sends a trial message and waits for its end. NotFoundError."""
        ...

    def remove_channel(self, channel_id: str, by: str) -> None:
        """Takes a channel away. NotFoundError."""
        ...


def router(house: SettingsHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The page and its forms."""
    routes = APIRouter(include_in_schema=False)

    def page(
        request: Request,
        form: Form,
        status: int = 200,
        tried: tuple[str, Trial] | None = None,
        wrong_id: str = "",
    ) -> HTMLResponse:
        return render.page(
            request,
            "settings.html",
            status=status,
            form=Form(form.once) if wrong_id else form,
            changed=form,
            wrong_id=wrong_id,
            channels=house.channels(),
            tried_id=tried[0] if tried else "",
            trial=tried[1] if tried else None,
            kinds=KINDS,
            securities=SECURITIES,
            priorities=PRIORITIES,
            every_day=EVERY_DAY,
            weekdays=WEEKDAYS,
        )

    @routes.get("/settings")
    def settings(request: Request) -> HTMLResponse:
        return page(request, Form(house.once()))

    @routes.post("/channels")
    def add(request: Request, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).required("name", "is empty", "Give the channel a name.")
            typed.text("kind", "least_priority")
            if values.get("kind") == "mail":
                typed.text("host", "security", "user", "password", "from", "to").number("port")
            else:
                typed.text("url")
            fields = typed.done()
            if "digest_at" in values and values["digest_at"].strip():
                fields["digest_at"] = values["digest_at"].strip()
            if values.get("for_helper"):
                fields["for_helper"] = True
            if quiet := quiet_hours(values):
                fields["quiet_hours"] = quiet
            if "port" in fields and float(fields["port"]).is_integer():
                fields["port"] = int(fields["port"])
            house.add_channel(who, fields)
            return "/settings"

        return counter.take(request, values, act, lambda form, status: page(request, form, status))

    @routes.post("/channels/{channel_id}/when")
    def when(request: Request, channel_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            fields = Typed(values).text("least_priority").done()
            fields["quiet_hours"] = quiet_hours(values) or None
            fields["digest_at"] = values.get("digest_at", "").strip() or None
            fields["for_helper"] = bool(values.get("for_helper"))
            house.change_channel(channel_id, who, fields)
            return "/settings"

        def again(form: Form, status: int) -> HTMLResponse:
            return page(request, form, status, wrong_id=channel_id)

        return counter.take(request, values, act, again)

    @routes.post("/channels/{channel_id}/test")
    def test(request: Request, channel_id: str, values: Values) -> Response:
        who = house.admit(request, values.get("token", ""))
        if who is None:
            return render.stranger(request, values)
        try:
            trial = house.try_channel(channel_id, who)
        except GylewatchError as error:
            return render.refusal(request, error)
        return page(request, Form(house.once()), tried=(channel_id, trial))

    @routes.post("/channels/{channel_id}/remove")
    def remove(request: Request, channel_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            house.remove_channel(channel_id, who)
            return "/settings"

        return counter.take(request, values, act)

    return routes


def quiet_hours(values: Mapping[str, str]) -> dict[str, dict[str, str]]:
    """The quiet times that were typed, those of every day first, so that a weekday's own go before them."""
    found: dict[str, dict[str, str]] = {}
    for day, _ in (EVERY_DAY, *WEEKDAYS):
        ends = {end: values.get(f"quiet_hours/{day}/{end}", "").strip() for end in ("from", "to")}
        if any(ends.values()):
            found[day] = {end: clock for end, clock in ends.items() if clock}
    return found

"""The settings a person changes from the page: where messages go, each with a trial."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class ChannelView:
    """A way for messages to leave. where: its address with secrets masked. health: how it fared, in words."""

    id: str
    name: str
    kind: str
    where: str
    health: str = ""
    failing: bool = False
    least_priority: str = "low"


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
    ) -> HTMLResponse:
        return render.page(
            request,
            "settings.html",
            status=status,
            form=form,
            channels=house.channels(),
            tried_id=tried[0] if tried else "",
            trial=tried[1] if tried else None,
            kinds=KINDS,
            securities=SECURITIES,
            priorities=PRIORITIES,
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
            if "port" in fields and float(fields["port"]).is_integer():
                fields["port"] = int(fields["port"])
            house.add_channel(who, fields)
            return "/settings"

        return counter.take(request, values, act, lambda form, status: page(request, form, status))

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

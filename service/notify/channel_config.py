"""What a channel needs to know, read from JSON; what is wrong is named by field, with its remedy."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from email.errors import MessageError
from email.headerregistry import Address, AddressHeader
from email.policy import default as mail_policy
from enum import StrEnum
from urllib.parse import urlsplit

from service.errors import InvalidInputError, Problem

Json = Mapping[str, object]


class Security(StrEnum):
    """How a connection to a mail server is kept private."""

    NONE = "none"
    STARTTLS = "starttls"
    TLS = "tls"


USUAL_PORT = {Security.NONE: 25, Security.STARTTLS: 587, Security.TLS: 465}
"""RFC 5321 (25), RFC 6409 (587, submission), RFC 8314 (465, submission over TLS)."""


@dataclass(frozen=True, slots=True)
class WebhookConfig:
    """An address that takes a JSON body. secret: signs what is sent, or None."""

    url: str = field(repr=False)
    secret: str | None = field(default=None, repr=False)
    kind: str = "webhook"


@dataclass(frozen=True, slots=True)
class MailConfig:
    """A mail server that takes messages. sender and to are addresses as in a From and a To header."""

    host: str
    port: int
    security: Security
    sender: str
    to: str
    user: str | None = None
    password: str | None = field(default=None, repr=False)
    kind: str = "mail"


@dataclass(frozen=True, slots=True)
class AppriseConfig:
    """An address in the notation of the apprise library; most of it is secret."""

    url: str = field(repr=False)
    kind: str = "apprise"


ChannelConfig = WebhookConfig | MailConfig | AppriseConfig

MEMBERS: dict[str, tuple[str, ...]] = {
    "webhook": ("kind", "url", "secret"),
    "mail": ("kind", "host", "port", "security", "user", "password", "from", "to"),
    "apprise": ("kind", "url"),
}
"""The members of each kind."""


def config_from(given: Json) -> ChannelConfig:
    """The configuration in `given`. Raises InvalidInputError that names every field that is wrong."""
    kind = given.get("kind")
    if not isinstance(kind, str) or kind not in MEMBERS:
        said = "is missing" if kind is None else f"{kind!r} is no kind of channel"
        raise InvalidInputError(
            Problem("/kind", said, nearest(kind, MEMBERS, "Give webhook, mail or apprise."))
        )
    reading = _Reading(given)
    reading.refuse_unknown(MEMBERS[kind])
    config: ChannelConfig
    match kind:
        case "webhook":
            config = WebhookConfig(
                url=reading.web_address("url"), secret=reading.text("secret", needed=False)
            )
        case "mail":
            config = _mail(reading)
        case _:
            config = AppriseConfig(url=reading.apprise_address("url"))
    reading.done()
    return config


def _mail(reading: "_Reading") -> MailConfig:
    security = reading.security("security")
    user = reading.ascii("user")
    password = reading.ascii("password")
    config = MailConfig(
        host=reading.host("host"),
        port=reading.port("port", USUAL_PORT[security]),
        security=security,
        sender=reading.addresses("from", one=True),
        to=reading.addresses("to", one=False),
        user=user,
        password=password,
    )
    if (user is None) != (password is None):
        missing = "user" if user is None else "password"
        reading.wrong(missing, "is missing", "Give user and password, or neither.")
    if (
        password is not None
        and security is Security.NONE
        and config.host not in {"localhost", "127.0.0.1", "::1"}
    ):
        reading.wrong("security", "would send the password unprotected", "Use starttls or tls.")
    return config


class _Reading:
    """Takes members out of a JSON object and gathers what is wrong with them."""

    def __init__(self, given: Json) -> None:
        self._given = given
        self._problems: list[Problem] = []

    def wrong(self, name: str, problem: str, remedy: str) -> None:
        """Note what is wrong with a member; the first thing is enough for each."""
        if all(known.field != f"/{name}" for known in self._problems):
            self._problems.append(Problem(f"/{name}", problem, remedy))

    def done(self) -> None:
        if self._problems:
            raise InvalidInputError(*self._problems)

    def refuse_unknown(self, known: tuple[str, ...]) -> None:
        for name in self._given:
            if name not in known:
                self.wrong(name, "is not known here", nearest(name, known, "Leave it out."))

    def text(self, name: str, *, needed: bool = True) -> str | None:
        value = self._given.get(name)
        if value is None or value == "":
            if needed:
                self.wrong(name, "is missing", f"Give {name} as a text.")
            return None
        if not isinstance(value, str):
            self.wrong(name, "is no text", "Put it in quotation marks.")
            return None
        if any(not char.isprintable() or 0xD800 <= ord(char) <= 0xDFFF for char in value):
            self.wrong(name, "holds a line break or another unprintable character", "Take it out.")
            return None
        return value

    def ascii(self, name: str) -> str | None:
        value = self.text(name, needed=False)
        if value is not None and not value.isascii():
            self.wrong(
                name, "holds characters beyond ASCII", "Ask the mail provider for one of plain letters."
            )
        return value

    def web_address(self, name: str) -> str:
        value = self.text(name)
        if value is None:
            return ""
        complaint = address_problem(value)
        if complaint is not None:
            self.wrong(name, *complaint)
        return value

    def apprise_address(self, name: str) -> str:
        value = self.text(name)
        if value is not None and not re.match(r"[A-Za-z][A-Za-z0-9+.-]*://\S", value):
            self.wrong(name, "has no scheme", "Write it as service://… as the apprise library describes.")
        return value or ""

    def host(self, name: str) -> str:
        value = self.text(name) or ""
        if value and not re.fullmatch(
            r"[A-Za-z0-9]([A-Za-z0-9.-]*[A-Za-z0-9])?|[0-9A-Fa-f:.]*:[0-9A-Fa-f:.]+", value
        ):
            self.wrong(name, "is no name of a computer", "Give the bare name, like mail.example.org.")
        return value

    def port(self, name: str, usual: int) -> int:
        value = self._given.get(name)
        if value is None:
            return usual
        if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 65535:
            self.wrong(name, "is no port", "Give a whole number from 1 to 65535.")
            return usual
        return value

    def security(self, name: str) -> Security:
        value = self._given.get(name)
        if value is None:
            return Security.STARTTLS
        try:
            return Security(value)  # type: ignore[arg-type]
        except ValueError:
            self.wrong(name, "is not known", nearest(value, list(Security), "Give none, starttls or tls."))
            return Security.STARTTLS

    def addresses(self, name: str, *, one: bool) -> str:
        value = self.text(name)
        if value is None:
            return ""
        found = _addresses(name, value)
        if not found:
            self.wrong(name, "is no mail address", "Write it like ann@example.org.")
        elif not all(a.addr_spec.isascii() for a in found):
            self.wrong(name, "has an address with characters beyond ASCII", "Write its domain as xn--….")
        elif one and len(found) != 1:
            self.wrong(name, "has more than one address", "Give one.")
        return value


def _addresses(name: str, value: str) -> tuple[Address, ...]:
    """The addresses of a header as Python's parser reads it; none when any of them is not whole."""
    try:
        header = mail_policy.header_factory(name, value)
    except (AttributeError, LookupError, TypeError, ValueError, MessageError):
        # The parser stumbles over some texts instead of noting a defect ("ann@", " .;").
        return ()
    whole = not header.defects
    found = header.addresses if whole and isinstance(header, AddressHeader) else ()
    return tuple(found) if all(a.username and a.domain for a in found) else ()


def address_problem(url: str) -> tuple[str, str] | None:
    """What is wrong with a web address, and the remedy; None when nothing is."""
    example = "Write it like https://example.org/path."
    scheme, found, _ = url.partition("://")
    if not found:
        return "has no scheme", example
    if scheme.lower() not in {"http", "https"}:
        return f"the scheme {scheme!r} is not known", nearest(scheme, ("http", "https"), "Use http or https.")
    try:
        parts = urlsplit(url)
        host, port = parts.hostname, parts.port
    except ValueError:
        return "is no web address", example
    if not host or re.search(r"\s", url) or host.startswith(".") or ".." in host or port == 0:
        return "is no web address", example
    return None


def nearest(given: object, known: Iterable[str], otherwise: str) -> str:
    near = get_close_matches(str(given).lower(), [str(name) for name in known], n=1, cutoff=0.6)
    return f"Did you mean {near[0]}?" if near else otherwise

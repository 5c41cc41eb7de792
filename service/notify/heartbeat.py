"""A sign of life to an address of the user's, so that someone else notices when this computer is dead."""

import ssl
from dataclasses import dataclass
from typing import Literal

from service.errors import InvalidInputError, Problem
from service.notify.bounded import Patience
from service.notify.channel_config import address_problem
from service.notify.envelope import SendFailedError
from service.notify.exchange import Exchanger


@dataclass(frozen=True, slots=True)
class HeartbeatResult:
    """What came of one sign of life. words: the far end's, or why it was not reached; masked."""

    arrived: bool
    words: str
    took_ms: int


def check_address(url: str, field: str = "/url") -> None:
    """Raises InvalidInputError, naming `field`, when the address cannot take a heartbeat."""
    complaint = address_problem(url)
    if complaint is not None:
        raise InvalidInputError(Problem(field, *complaint))


def beat(
    url: str,
    method: Literal["GET", "POST"] = "GET",
    *,
    patience: Patience = Patience(step_s=5.0, whole_s=10.0),  # noqa: B008 - frozen
    tls: ssl.SSLContext | None = None,
) -> HeartbeatResult:
    """Call the address once, in bounded time, with an empty body. Any 2xx counts as arrived.

    Failing is a result and no error: the next beat follows soon. Raises InvalidInputError for an address
    that is none.
    """
    check_address(url)
    exchanger = Exchanger(url, patience, tls, frozenset())
    try:
        answer = exchanger.ask(method, None, {})
    except SendFailedError as error:
        return HeartbeatResult(arrived=False, words=str(error), took_ms=0)
    finally:
        exchanger.close()
    return HeartbeatResult(200 <= answer.status < 300, answer.words, answer.took_ms)

"""Whoever was let in is let out of a stream when what they came in by ends."""

import asyncio
from datetime import timedelta

from service.access.sessions import IDLE
from service.access.who import How, Scope, Who
from service.actions.accounts import log_out
from service.actions.gate import is_still_in, look
from service.actions.tokens import make_token, revoke_token
from service.record.access import AccountRow, add_account
from service.watch.publish import Broker
from tests.rig import START, Rig

HERE = Who("the brewer", How.MACHINE, Scope.MANAGE, "127.0.0.1")


def with_attic(rig: Rig) -> Who:
    """The account Attic, logged in."""
    rig.record.write(lambda c: add_account(c, AccountRow("attic", "Attic", "no hash", START, START)))
    who = look(rig.desk, "127.0.0.1", rig.log_in_as("attic"), None).who
    assert who is not None
    return who


def test_this_machine_is_no_longer_welcome_once_there_is_an_account(rig: Rig) -> None:
    assert is_still_in(rig.desk, HERE)

    with_attic(rig)

    assert not is_still_in(rig.desk, HERE)


def test_a_session_is_welcome_until_it_ends(rig: Rig) -> None:
    who = with_attic(rig)
    assert is_still_in(rig.desk, who)

    log_out(rig.desk, who)

    assert not is_still_in(rig.desk, who)


def test_a_session_that_ran_out_is_not_welcome(rig: Rig) -> None:
    who = with_attic(rig)

    rig.clock.at += IDLE + timedelta(seconds=1)

    assert not is_still_in(rig.desk, who)


def test_a_token_is_welcome_until_it_is_revoked_even_if_another_takes_its_name(rig: Rig) -> None:
    attic = with_attic(rig)
    secret = make_token(rig.desk, attic, "Shed", Scope.READ).token
    device = look(rig.desk, "127.0.0.1", None, secret).who
    assert device is not None
    assert is_still_in(rig.desk, device)

    revoke_token(rig.desk, attic, "shed")
    make_token(rig.desk, attic, "Shed", Scope.READ)

    assert not is_still_in(rig.desk, device)


def test_a_stream_ends_when_its_reader_is_no_longer_welcome() -> None:
    asked = iter([True, False])

    async def welcome() -> bool:
        return next(asked)

    async def heard() -> list[str]:
        return [text async for text in Broker("b", comment_every_s=0.05).listen(None, welcome)]

    texts = asyncio.run(asyncio.wait_for(heard(), 5))

    assert texts[0].startswith("retry")
    assert 1 <= texts.count(": still here\n\n") <= 3

"""Mails handed to a real SMTP server on loopback, read back by Python's own parser (RFC 5322)."""

import logging
import time
from datetime import timedelta, timezone
from email import message_from_bytes
from email.message import EmailMessage
from email.policy import default as parsing
from email.utils import parsedate_to_datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.notify.bounded import Patience
from service.notify.channel_config import MailConfig, Security
from service.notify.channels.mail import MailChannel, mail_from
from service.notify.envelope import Envelope, SendFailedError
from tests.notify.receivers import (
    Certificate,
    MailReceiver,
    a_port_nobody_listens_on,
    hangs_up,
    mail_receiver,
    plain_receiver,
    says_nothing,
)
from tests.notify.samples import NOON, an_envelope

SENDER = "Gylewatch <pi@example.org>"
TO = "ann@example.org, bob@example.net"


def a_config(port: int, security: Security = Security.NONE, password: str | None = None) -> MailConfig:
    user = "pi" if password is not None else None
    return MailConfig("127.0.0.1", port, security, SENDER, TO, user, password)


def send(config: MailConfig, certificate: Certificate | None = None, envelope: Envelope | None = None) -> str:
    tls = certificate.trusting() if certificate is not None else None
    channel = MailChannel(config, patience=Patience(step_s=0.5, whole_s=2.0), tls=tls)
    return channel.send(envelope or an_envelope()).far_end


def failure_of(config: MailConfig, certificate: Certificate | None = None) -> SendFailedError:
    with pytest.raises(SendFailedError) as caught:
        send(config, certificate)
    return caught.value


def parsed(receiver: MailReceiver) -> EmailMessage:
    content = receiver.received[-1].content
    assert isinstance(content, bytes)
    message = message_from_bytes(content, policy=parsing)
    assert isinstance(message, EmailMessage)
    return message


def reread(mail: EmailMessage) -> EmailMessage:
    message = message_from_bytes(mail.as_bytes(), policy=parsing)
    assert isinstance(message, EmailMessage)
    return message


@pytest.mark.component
def test_the_mail_arrives_whole() -> None:
    with mail_receiver() as receiver:
        words = send(a_config(receiver.port))

    message = parsed(receiver)
    assert receiver.received[0].mail_from == "pi@example.org"
    assert receiver.received[0].rcpt_tos == ["ann@example.org", "bob@example.net"]
    assert message["Subject"] == "Bucket: above the band (1)"
    assert message["From"] == SENDER
    assert message["To"] == TO
    assert message["Auto-Submitted"] == "auto-generated"
    assert message.get_content().splitlines() == an_envelope().text.splitlines()
    assert message.defects == []
    assert words == "250 2.0.0 Taken"


@pytest.mark.component
def test_it_encrypts_with_starttls_before_it_says_the_password(certificate: Certificate) -> None:
    with mail_receiver(starttls=certificate, login=True) as receiver:
        words = send(a_config(receiver.port, Security.STARTTLS, receiver.password), certificate)

    assert words == "250 2.0.0 Taken"
    assert len(receiver.received) == 1


@pytest.mark.component
def test_it_speaks_tls_from_the_first_byte(certificate: Certificate) -> None:
    with mail_receiver(tls=certificate) as receiver:
        send(a_config(receiver.port, Security.TLS), certificate)

    assert len(receiver.received) == 1


@pytest.mark.component
@pytest.mark.parametrize("security", [Security.STARTTLS, Security.TLS])
def test_a_certificate_that_nobody_vouches_for_is_refused(
    certificate: Certificate, security: Security
) -> None:
    starttls = certificate if security is Security.STARTTLS else None
    tls = certificate if security is Security.TLS else None
    with mail_receiver(starttls=starttls, tls=tls) as receiver:
        failure = failure_of(a_config(receiver.port, security))

    assert receiver.received == []
    assert failure.transient
    assert "certificate of 127.0.0.1" in str(failure)


@pytest.mark.component
def test_it_does_not_go_on_in_the_clear_when_starttls_is_not_offered(certificate: Certificate) -> None:
    with mail_receiver() as receiver:
        failure = failure_of(a_config(receiver.port, Security.STARTTLS, "hush-hush"), certificate)

    assert receiver.received == []
    assert failure.transient
    assert "STARTTLS" in str(failure)


@pytest.mark.component
def test_a_wrong_password_is_permanent_and_not_shown(
    certificate: Certificate, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG, logger="service")
    with mail_receiver(starttls=certificate, login=True) as receiver:
        failure = failure_of(a_config(receiver.port, Security.STARTTLS, "not-the-right-one"), certificate)

    assert not failure.transient
    assert failure.far_end.startswith("535")
    assert "did not accept user and password" in str(failure)
    assert "not-the-right-one" not in f"{failure} {failure.far_end} {caplog.text}"


@pytest.mark.component
def test_a_server_that_echoes_the_password_is_not_quoted() -> None:
    with mail_receiver() as receiver:
        receiver.refuse_sender = "550 5.7.1 who are you, hush-hush AGh1c2gtaHVzaA==? AHBpAGh1c2gtaHVzaA=="
        config = a_config(receiver.port)
        channel = MailChannel(
            MailConfig("127.0.0.1", receiver.port, Security.NONE, SENDER, TO, None, "hush-hush"),
            patience=Patience(0.5, 2.0),
        )
        assert config.password is None

        with pytest.raises(SendFailedError) as caught:
            channel.send(an_envelope())

    assert "hush-hush" not in str(caught.value)


STEPS = ("sender", "receivers", "text")


@pytest.mark.component
@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize(
    "said, transient",
    [("421 4.3.2 Closing", True), ("451 4.7.1 Grey, come back later", True), ("552 5.3.4 Too big", False)],
)
def test_4xx_is_transient_and_5xx_permanent_at_every_step(step: str, said: str, transient: bool) -> None:
    with mail_receiver() as receiver:
        receiver.refuse_sender = said if step == "sender" else None
        receiver.refuse_text = said if step == "text" else None
        if step == "receivers":
            receiver.refuse_receivers = {"ann@example.org": said, "bob@example.net": said}
        failure = failure_of(a_config(receiver.port))

    assert receiver.received == []
    assert failure.transient is transient
    assert failure.far_end == said
    assert str(failure) == f"127.0.0.1:{receiver.port} said: {said}"


@pytest.mark.component
def test_one_receiver_refused_for_good_keeps_nothing_from_the_others() -> None:
    with mail_receiver() as receiver:
        receiver.refuse_receivers = {"bob@example.net": "550 5.1.1 No such box"}
        words = send(a_config(receiver.port))

    assert receiver.received[0].rcpt_tos == ["ann@example.org"]
    assert words == "250 2.0.0 Taken; but not for bob@example.net: 550 5.1.1 No such box"


@pytest.mark.component
def test_one_receiver_refused_for_now_makes_it_be_sent_again() -> None:
    with mail_receiver() as receiver:
        receiver.refuse_receivers = {"bob@example.net": "450 4.2.1 Box is busy"}
        failure = failure_of(a_config(receiver.port))

    assert failure.transient
    assert receiver.received == []


@pytest.mark.component
def test_a_server_that_says_nothing_is_left_after_the_time_out() -> None:
    with plain_receiver(says_nothing) as port:
        began = time.monotonic()
        failure = failure_of(a_config(port))
        took_s = time.monotonic() - began

    assert failure.transient
    assert str(failure) == f"127.0.0.1:{port} did not answer within 0.5 s."
    assert took_s < 1.9


@pytest.mark.component
def test_a_server_that_hangs_up_is_transient() -> None:
    with plain_receiver(hangs_up) as port:
        failure = failure_of(a_config(port))

    assert failure.transient
    assert f"127.0.0.1:{port}" in str(failure)


@pytest.mark.component
def test_nobody_listening_is_transient() -> None:
    port = a_port_nobody_listens_on()

    failure = failure_of(a_config(port))

    assert failure.transient
    assert f"The mail server 127.0.0.1:{port} cannot be used" in str(failure)


@pytest.mark.component
def test_a_server_that_will_not_talk_at_all_is_permanent() -> None:
    with plain_receiver(lambda connection, _: connection.sendall(b"554 5.3.2 No mail here\r\n")) as port:
        failure = failure_of(a_config(port))

    assert not failure.transient
    assert failure.far_end == "554 5.3.2 No mail here"


def test_a_repeat_is_the_same_mail_and_another_message_is_not() -> None:
    first, again = (mail_from(an_envelope(1), SENDER, TO).as_bytes() for _ in range(2))
    other = mail_from(an_envelope(2), SENDER, TO)

    assert first == again
    assert other["Message-ID"] != message_from_bytes(first)["Message-ID"]
    assert str(other["Message-ID"]).endswith("@example.org>")


def test_the_date_is_when_the_message_was_written() -> None:
    at = NOON.astimezone(timezone(timedelta(hours=2)))

    mail = reread(mail_from(an_envelope(at=at), SENDER, TO))

    assert parsedate_to_datetime(mail["Date"]) == NOON


@settings(max_examples=100, deadline=None)
@given(
    title=st.text(max_size=300),
    text=st.text(st.characters(exclude_categories=("Cc", "Zl", "Zp")), max_size=500),
)
def test_any_title_and_text_come_back_from_the_parser(title: str, text: str) -> None:
    envelope = Envelope("m-1", "first", None, title, text, (), NOON)
    readable = text.encode("utf-8", "replace").decode()

    mail = reread(mail_from(envelope, SENDER, TO))

    assert mail.defects == []
    assert mail.get_content().rstrip("\r\n") == readable
    assert sorted(mail.keys()) == sorted(reread(mail_from(an_envelope(), SENDER, TO)).keys())
    assert mail["To"].addresses[1].addr_spec == "bob@example.net"


def test_a_title_cannot_add_a_header() -> None:
    envelope = Envelope("m-1", "first", None, "Warm\r\nBcc: eve@example.org", "text", (), NOON)

    mail = reread(mail_from(envelope, SENDER, TO))

    assert mail["Bcc"] is None
    assert mail["Subject"] == "Warm Bcc: eve@example.org"


def test_every_line_is_short_enough_for_every_server() -> None:
    # RFC 5321, 4.5.3.1.6: 1,000 octets with the line's end.
    envelope = Envelope("m-1", "first", None, "x" * 3000, "y" * 5000 + "é" * 3000, (), NOON)

    lines = mail_from(envelope, SENDER, TO).as_bytes().split(b"\r\n")

    assert max(map(len, lines)) <= 998

"""A message as a mail, handed to the user's mail server (RFC 5321) in the format of RFC 5322."""

import base64
import contextlib
import hashlib
import re
import smtplib
import ssl
import time
from email.headerregistry import AddressHeader
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime

from service.notify.bounded import Patience, within
from service.notify.channel_config import MailConfig, Security
from service.notify.envelope import Delivered, Envelope, SendFailedError
from service.notify.masking import hide

_HELLO = "[127.0.0.1]"
"""What we call ourselves: an address literal (RFC 5321, 4.1.3), as a Pi at home has no public name."""


def mail_from(envelope: Envelope, sender: str, to: str) -> EmailMessage:
    """The mail that carries the message. The same envelope always makes the same mail, byte for byte.

    Date is the time the message was written. Message-ID comes from the envelope's id, so that a repeat
    can be recognised. Auto-Submitted (RFC 3834) keeps absence notes from answering.
    """
    mail = EmailMessage(policy=SMTP)
    mail["From"] = sender
    mail["To"] = to
    mail["Subject"] = _clean(" ".join(envelope.title.split()))
    mail["Date"] = format_datetime(envelope.at)
    domain = re.sub(r"[^A-Za-z0-9.-]", "", _addresses(mail, "From")[0].rpartition("@")[2]) or "invalid"
    mail["Message-ID"] = f"<{hashlib.sha256(envelope.id.encode()).hexdigest()[:32]}@{domain}>"
    mail["Auto-Submitted"] = "auto-generated"
    mail.set_content(_clean(envelope.text))
    return mail


class MailChannel:
    """Hands mails to one mail server, one connection for each."""

    kind = "mail"

    def __init__(self, config: MailConfig, *, patience: Patience, tls: ssl.SSLContext | None = None) -> None:
        self._config = config
        self._patience = patience
        self._tls = tls if tls is not None else ssl.create_default_context()
        self._who = f"{config.host}:{config.port}"
        self._secrets = _secrets(config)

    def send(self, envelope: Envelope) -> Delivered:
        """Hand it over; the server's 250 after the text is the yes. Raises SendFailedError."""
        return within(self._patience.whole_s, self._who, lambda: self._send(envelope))

    def close(self) -> None:
        """Nothing is held between mails."""

    def _send(self, envelope: Envelope) -> Delivered:
        mail = mail_from(envelope, self._config.sender, self._config.to)
        began = time.monotonic()
        try:
            smtp = self._connect()
            try:
                self._introduce(smtp)
                words = self._hand_over(smtp, mail)
            finally:
                # The yes is given by now, or will not be: how the conversation ends changes nothing.
                with contextlib.suppress(smtplib.SMTPException, OSError):
                    smtp.quit()
                smtp.close()
        except (smtplib.SMTPException, OSError) as error:
            raise self._failure(error) from None
        return Delivered(words, round((time.monotonic() - began) * 1000))

    def _connect(self) -> smtplib.SMTP:
        host, port, wait_s = self._config.host, self._config.port, self._patience.step_s
        if self._config.security is Security.TLS:
            return smtplib.SMTP_SSL(host, port, _HELLO, timeout=wait_s, context=self._tls)
        return smtplib.SMTP(host, port, _HELLO, wait_s)

    def _introduce(self, smtp: smtplib.SMTP) -> None:
        if self._config.security is Security.STARTTLS:
            smtp.starttls(context=self._tls)
        smtp.ehlo_or_helo_if_needed()
        if self._config.user is not None and self._config.password is not None:
            smtp.login(self._config.user, self._config.password)

    def _hand_over(self, smtp: smtplib.SMTP, mail: EmailMessage) -> str:
        """Sender, receivers and text; gives the server's words.

        A receiver refused for good does not keep the mail from the others; one refused for now makes
        the whole mail be sent again, which the others recognise by its Message-ID.
        """
        _expect(smtp.mail(_addresses(mail, "From")[0]), 250)
        refused: dict[str, tuple[int, bytes]] = {}
        receivers = _addresses(mail, "To")
        for receiver in receivers:
            answer = smtp.rcpt(receiver)
            if answer[0] not in (250, 251):
                refused[receiver] = answer
        passing = [answer for answer in refused.values() if answer[0] < 500]
        if passing or len(refused) == len(receivers):
            raise smtplib.SMTPResponseException(*(passing or list(refused.values()))[0])
        words = self._words(*_expect(smtp.data(mail.as_bytes()), 250))
        return words + "".join(
            f"; but not for {who}: {self._words(*answer)}" for who, answer in refused.items()
        )

    def _words(self, code: int, text: bytes | str) -> str:
        said = text.decode("utf-8", "replace") if isinstance(text, bytes) else text
        return hide(f"{code} {said}", self._secrets)

    def _failure(self, error: smtplib.SMTPException | OSError) -> SendFailedError:
        if isinstance(error, smtplib.SMTPResponseException) and 400 <= error.smtp_code < 600:
            words = self._words(error.smtp_code, error.smtp_error)
            refused = (
                "did not accept user and password"
                if isinstance(error, smtplib.SMTPAuthenticationError)
                else "said"
            )
            permanent = error.smtp_code >= 500
            return SendFailedError(f"{self._who} {refused}: {words}", transient=not permanent, far_end=words)
        # smtplib turns a time-out while it waits for an answer into a lost connection.
        if isinstance(error, TimeoutError) or isinstance(error.__context__, TimeoutError):
            return SendFailedError(
                f"{self._who} did not answer within {self._patience.step_s:g} s.", transient=True
            )
        said = hide(str(error), self._secrets)
        if isinstance(error, ssl.SSLCertVerificationError):
            return SendFailedError(
                f"The certificate of {self._who} is not to be trusted: {said}", transient=True
            )
        return SendFailedError(f"The mail server {self._who} cannot be used: {said}", transient=True)


def _expect(answer: tuple[int, bytes], code: int) -> tuple[int, bytes]:
    if answer[0] != code:
        raise smtplib.SMTPResponseException(*answer)
    return answer


def _addresses(mail: EmailMessage, name: str) -> list[str]:
    header = mail[name]
    return [a.addr_spec for a in header.addresses] if isinstance(header, AddressHeader) else []


def _clean(text: str) -> str:
    return text.encode("utf-8", "replace").decode()


def _secrets(config: MailConfig) -> frozenset[str]:
    """The password, and the forms in which a server might echo it (AUTH PLAIN, RFC 4616)."""
    if not config.password:
        return frozenset()
    plain = f"\0{config.user}\0{config.password}".encode()
    return frozenset({config.password, base64.b64encode(plain).decode()})

"""What a channel's JSON may say, what is shown of it, and what a change keeps."""

from collections.abc import Mapping

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from service.errors import InvalidInputError, Problem
from service.notify.channel_config import MailConfig, Security, WebhookConfig, config_from
from service.notify.config import channel_from, masked, merge_secrets

WEBHOOK: dict[str, object] = {"kind": "webhook", "url": "https://example.org/t0ken", "secret": "between us"}
MAIL: dict[str, object] = {
    "kind": "mail",
    "host": "mail.example.org",
    "port": 587,
    "security": "starttls",
    "user": "ann",
    "password": "hush-hush",
    "from": "pi@example.org",
    "to": "ann@example.org",
}
APPRISE: dict[str, object] = {"kind": "apprise", "url": "json://127.0.0.1/t0ken"}


def problems(given: Mapping[str, object]) -> list[Problem]:
    with pytest.raises(InvalidInputError) as caught:
        config_from(given)
    return list(caught.value.problems)


def test_it_reads_a_webhook() -> None:
    assert config_from(WEBHOOK) == WebhookConfig("https://example.org/t0ken", "between us")


def test_it_reads_a_mail_server() -> None:
    assert config_from(MAIL) == MailConfig(
        "mail.example.org", 587, Security.STARTTLS, "pi@example.org", "ann@example.org", "ann", "hush-hush"
    )


@pytest.mark.parametrize("security, port", [("none", 25), ("starttls", 587), ("tls", 465)])
def test_a_port_left_out_is_the_usual_one(security: str, port: int) -> None:
    given = {k: v for k, v in MAIL.items() if k not in {"port", "user", "password"}} | {"security": security}

    config = config_from(given)

    assert isinstance(config, MailConfig)
    assert config.port == port


@pytest.mark.parametrize(
    "given", [{k: v for k, v in MAIL.items() if k != "security"}, MAIL | {"security": None}]
)
def test_security_left_out_is_starttls(given: dict[str, object]) -> None:
    config = config_from(given)

    assert isinstance(config, MailConfig)
    assert config.security is Security.STARTTLS


@pytest.mark.parametrize("given", [WEBHOOK, MAIL, APPRISE], ids=["webhook", "mail", "apprise"])
def test_a_channel_is_made_of_its_kind(given: dict[str, object]) -> None:
    channel = channel_from(given)

    assert channel.kind == given["kind"]
    channel.close()


BAD = [
    ({"kind": "webhok", "url": "x"}, "/kind", "'webhok' is no kind of channel", "Did you mean webhook?"),
    ({"kind": 5}, "/kind", "5 is no kind of channel", "Give webhook, mail or apprise."),
    ({}, "/kind", "is missing", "Give webhook, mail or apprise."),
    ({"kind": "webhook"}, "/url", "is missing", "Give url as a text."),
    (WEBHOOK | {"url": 5}, "/url", "is no text", "Put it in quotation marks."),
    (WEBHOOK | {"url": "htps://x.org"}, "/url", "the scheme 'htps' is not known", "Did you mean https?"),
    (WEBHOOK | {"url": "ftp://x.org"}, "/url", "the scheme 'ftp' is not known", "Use http or https."),
    (WEBHOOK | {"url": "gopher://x.org"}, "/url", "the scheme 'gopher' is not known", "Use http or https."),
    (WEBHOOK | {"url": "x.org/p"}, "/url", "has no scheme", "Write it like https://example.org/path."),
    (WEBHOOK | {"url": "https:/x.org"}, "/url", "has no scheme", "Write it like https://example.org/path."),
    (WEBHOOK | {"url": "https://"}, "/url", "is no web address", "Write it like https://example.org/path."),
    (WEBHOOK | {"url": "https:///x"}, "/url", "is no web address", "Write it like https://example.org/path."),
    (
        WEBHOOK | {"url": "https://x:y/"},
        "/url",
        "is no web address",
        "Write it like https://example.org/path.",
    ),
    (
        WEBHOOK | {"url": "https://x:0/"},
        "/url",
        "is no web address",
        "Write it like https://example.org/path.",
    ),
    (
        WEBHOOK | {"url": "https://[x/"},
        "/url",
        "is no web address",
        "Write it like https://example.org/path.",
    ),
    (
        WEBHOOK | {"url": "https://a..b/"},
        "/url",
        "is no web address",
        "Write it like https://example.org/path.",
    ),
    (
        WEBHOOK | {"url": "https://a b/"},
        "/url",
        "is no web address",
        "Write it like https://example.org/path.",
    ),
    (
        WEBHOOK | {"url": "https://a\nb/"},
        "/url",
        "holds a line break or another unprintable character",
        "Take it out.",
    ),
    (
        WEBHOOK | {"secret": "\ud800"},
        "/secret",
        "holds a line break or another unprintable character",
        "Take it out.",
    ),
    (WEBHOOK | {"secrt": "x"}, "/secrt", "is not known here", "Did you mean secret?"),
    (WEBHOOK | {"zzz": "x"}, "/zzz", "is not known here", "Leave it out."),
    (MAIL | {"port": 0}, "/port", "is no port", "Give a whole number from 1 to 65535."),
    (MAIL | {"port": 65536}, "/port", "is no port", "Give a whole number from 1 to 65535."),
    (MAIL | {"port": True}, "/port", "is no port", "Give a whole number from 1 to 65535."),
    (MAIL | {"port": "25"}, "/port", "is no port", "Give a whole number from 1 to 65535."),
    (
        MAIL | {"host": "https://x"},
        "/host",
        "is no name of a computer",
        "Give the bare name, like mail.example.org.",
    ),
    (
        MAIL | {"host": "x:25"},
        "/host",
        "is no name of a computer",
        "Give the bare name, like mail.example.org.",
    ),
    (MAIL | {"security": "startls"}, "/security", "is not known", "Did you mean starttls?"),
    (MAIL | {"security": "ssl"}, "/security", "is not known", "Give none, starttls or tls."),
    (MAIL | {"security": 3}, "/security", "is not known", "Give none, starttls or tls."),
    (MAIL | {"from": "ann"}, "/from", "is no mail address", "Write it like ann@example.org."),
    (MAIL | {"to": "ann@"}, "/to", "is no mail address", "Write it like ann@example.org."),
    (MAIL | {"to": "@example.org"}, "/to", "is no mail address", "Write it like ann@example.org."),
    (MAIL | {"to": "a@b.org; c@d.org"}, "/to", "is no mail address", "Write it like ann@example.org."),
    (MAIL | {"from": "a@b.org, c@d.org"}, "/from", "has more than one address", "Give one."),
    (
        MAIL | {"to": "ann@bücher.example"},
        "/to",
        "has an address with characters beyond ASCII",
        "Write its domain as xn--….",
    ),
    (
        MAIL | {"password": "pässword"},
        "/password",
        "holds characters beyond ASCII",
        "Ask the mail provider for one of plain letters.",
    ),
    (MAIL | {"user": None}, "/user", "is missing", "Give user and password, or neither."),
    (MAIL | {"password": None}, "/password", "is missing", "Give user and password, or neither."),
    (MAIL | {"security": "none"}, "/security", "would send the password unprotected", "Use starttls or tls."),
    (
        {"kind": "apprise", "url": "telegram"},
        "/url",
        "has no scheme",
        "Write it as service://… as the apprise library describes.",
    ),
]


@pytest.mark.parametrize(
    "given, field, problem, remedy", BAD, ids=[f"{b[1]} {b[2]} {n}" for n, b in enumerate(BAD)]
)
def test_what_is_wrong_is_named_with_its_remedy(
    given: dict[str, object], field: str, problem: str, remedy: str
) -> None:
    assert problems(given) == [Problem(field, problem, remedy)]


def test_everything_that_is_wrong_is_named_at_once() -> None:
    found = problems({"kind": "mail", "host": "a b", "port": -1, "from": "x", "to": "y", "colour": "red"})

    assert [problem.field for problem in found] == ["/colour", "/host", "/port", "/from", "/to"]


def test_a_member_is_complained_of_once() -> None:
    found = problems(MAIL | {"password": "two\nlines"})

    assert [(p.field, p.problem) for p in found] == [
        ("/password", "holds a line break or another unprintable character")
    ]


@pytest.mark.parametrize(
    "addresses", ["ann@example.org", "Ann <ann@example.org>", "a@b.org, c@d.org", "root@localhost"]
)
def test_usual_ways_to_write_receivers_are_accepted(addresses: str) -> None:
    config = config_from(MAIL | {"to": addresses})

    assert isinstance(config, MailConfig)
    assert config.to == addresses


def test_an_unprotected_password_is_accepted_on_this_computer() -> None:
    assert isinstance(config_from(MAIL | {"security": "none", "host": "localhost"}), MailConfig)


def test_the_printed_form_of_a_configuration_has_no_secret() -> None:
    printed = " ".join(repr(config_from(given)) for given in (WEBHOOK, MAIL, APPRISE))

    for secret in ("t0ken", "between us", "hush-hush"):
        assert secret not in printed


@settings(max_examples=300)
@example("ann@")
@example(" .;")
@given(to=st.text(st.sampled_from('ann@example.org<>,;:"()[]\\ é'), max_size=30))
def test_any_text_for_receivers_is_read_or_refused(to: str) -> None:
    try:
        config = config_from(MAIL | {"to": to})
    except InvalidInputError as error:
        assert [problem.field for problem in error.problems] == ["/to"]  # noqa: PT017 - either will do
    else:
        assert isinstance(config, MailConfig)
        assert "@" in config.to


@settings(max_examples=200)
@given(
    st.dictionaries(
        st.sampled_from(
            ["kind", "url", "secret", "host", "port", "security", "user", "password", "from", "to"]
        ),
        st.one_of(
            st.text(max_size=30), st.integers(), st.none(), st.booleans(), st.lists(st.text(max_size=3))
        ),
    ),
    st.sampled_from(["webhook", "mail", "apprise"]),
)
def test_whatever_is_given_is_read_or_refused(given: dict[str, object], kind: str) -> None:
    try:
        config = config_from(given | {"kind": kind})
    except InvalidInputError as error:
        refused = [problem.field for problem in error.problems if problem.problem and problem.remedy]
    else:
        refused = []
        assert config.kind == kind

    assert len(refused) == len(set(refused))


@pytest.mark.parametrize(
    "given, shown",
    [
        (WEBHOOK, {"kind": "webhook", "url": "https://example.org/***", "secret": "***"}),
        (MAIL, MAIL | {"password": "***"}),
        (APPRISE, {"kind": "apprise", "url": "json://***"}),
        (WEBHOOK | {"secret": None}, {"kind": "webhook", "url": "https://example.org/***", "secret": None}),
        ({"kind": "from later", "x": "y"}, {"kind": "***", "x": "***"}),
    ],
)
def test_secrets_are_never_shown_again(given: dict[str, object], shown: dict[str, object]) -> None:
    assert masked(given) == shown


@pytest.mark.parametrize(
    "old, new, merged",
    [
        (WEBHOOK, masked(WEBHOOK), WEBHOOK),
        (WEBHOOK, {"kind": "webhook"}, WEBHOOK),
        (MAIL, masked(MAIL), MAIL),
        (APPRISE, masked(APPRISE), APPRISE),
        (WEBHOOK, masked(WEBHOOK) | {"secret": "new one"}, WEBHOOK | {"secret": "new one"}),
        (WEBHOOK, masked(WEBHOOK) | {"secret": None}, WEBHOOK | {"secret": None}),
        (WEBHOOK, masked(WEBHOOK) | {"url": "https://x.org/y"}, WEBHOOK | {"url": "https://x.org/y"}),
        (MAIL, masked(MAIL) | {"to": "bob@example.org"}, MAIL | {"to": "bob@example.org"}),
        (
            MAIL,
            masked(MAIL) | {"host": "other.example.org", "password": "new one"},
            MAIL | {"host": "other.example.org", "password": "new one"},
        ),
        (MAIL, {"kind": "webhook", "url": "https://x.org"}, {"kind": "webhook", "url": "https://x.org"}),
    ],
)
def test_a_change_keeps_the_secrets_it_does_not_give(
    old: dict[str, object], new: dict[str, object], merged: dict[str, object]
) -> None:
    assert merge_secrets(old, new) == merged


@pytest.mark.parametrize("change", [{"host": "evil.example.org"}, {"port": 2525}, {"security": "none"}])
def test_a_password_does_not_go_to_another_server_unasked(change: dict[str, object]) -> None:
    with pytest.raises(InvalidInputError) as caught:
        merge_secrets(MAIL, masked(MAIL) | change)

    assert [problem.field for problem in caught.value.problems] == ["/password"]


@pytest.mark.parametrize(
    "old, change, field",
    [
        (WEBHOOK, {"url": "https://other.example.org/***"}, "/url"),
        (APPRISE, {"url": "mailto://***"}, "/url"),
        (MAIL | {"password": None, "user": None}, {"password": "***"}, "/password"),
    ],
)
def test_a_mask_is_not_taken_for_a_secret(
    old: dict[str, object], change: dict[str, object], field: str
) -> None:
    with pytest.raises(InvalidInputError) as caught:
        merge_secrets(old, masked(old) | change)

    assert [problem.field for problem in caught.value.problems] == [field]

from dataclasses import replace

import pytest

from service.alarms.catalogue import CATALOGUE
from service.alarms.lifecycle import acknowledge, step
from service.alarms.model import AlarmState, Priority, Subject
from service.alarms.rules import Limits, Side, band_finding, no_reading
from service.alarms.speaking import Reason
from service.alarms.wording import compose, compose_for_helper, compose_together
from service.alarms.words import Units, clock, degrees, difference, span
from tests.alarms.making import BERLIN, T0, about, at, raised

BAND = Limits(low_c=18.5, high_c=21.5, after_s=0.0)


def warm(priority: Priority = Priority.MEDIUM) -> AlarmState:
    found = band_finding(about(), Side.WARM, 22.6, BAND, priority)
    state, _ = step(AlarmState(found.subject), found, T0)
    return replace(state, alarm_id=1042)


def silent() -> AlarmState:
    found = no_reading(about(now=at(60)), 60.0, 10.0, last_at=at(0), last_c=22.6)
    state, _ = step(AlarmState(found.subject), found, at(60))
    return replace(state, alarm_id=1043)


def test_a_first_message_says_all_that_is_needed() -> None:
    text = compose(Reason.FIRST, "Bucket", [warm()], BERLIN, "http://pi:8330/")

    assert text.title == "Bucket: too warm"
    lines = text.body.split("\n")
    assert lines[0] == ("Too warm: 22.6 C since 14:05, 1.1 C over the band. The band is 18.5 C to 21.5 C.")
    assert lines[1] == f"What it means: {CATALOGUE['above-band'].consequence}"
    assert lines[2] == f"What to do: {CATALOGUE['above-band'].advice}"
    assert lines[3] == f"Caution: {CATALOGUE['above-band'].cautions[0]}"
    assert lines[4] == "Answer by 16:05."
    assert lines[5] == "Acknowledge: http://pi:8330/alarms/a-1042"
    assert len(lines) == 6


@pytest.mark.parametrize(
    ("reason", "title", "opening"),
    [
        (Reason.REMINDER, "Bucket: too warm (urgent, reminder)", "Nobody has acknowledged this yet."),
        (
            Reason.RAISED_IN_PRIORITY,
            "Bucket: too warm (urgent, more urgent now)",
            "This has become more urgent.",
        ),
        (
            Reason.END_OF_QUIET_HOURS,
            "Bucket: too warm (urgent, since the quiet hours)",
            "This came up during the quiet hours and still stands.",
        ),
    ],
)
def test_each_reason_is_said(reason: Reason, title: str, opening: str) -> None:
    text = compose(reason, "Bucket", [warm(Priority.HIGH)], BERLIN, None)

    assert text.title == title
    assert text.body.startswith(opening + "\n\nToo warm: 22.6 C since 14:05")


def test_a_return_says_since_when_and_what_it_was() -> None:
    back = band_finding(about(), Side.WARM, 20.8, replace(BAND, clear_after_s=0.0), Priority.HIGH)
    state, _ = step(warm(Priority.HIGH), back, at(1800))

    text = compose(Reason.RETURNED, "Bucket", [state], BERLIN, "http://pi:8330")

    assert text.title == "Bucket: too warm (over)"
    assert text.body.split("\n") == [
        "Too warm: over since 14:35. 20.8 C, inside the band.",
        "It was: 22.6 C since 14:05, 1.1 C over the band.",
        "Acknowledge: http://pi:8330/alarms/a-1042",
    ]


def test_an_alarm_that_has_ended_asks_for_no_acknowledgement() -> None:
    state, _ = acknowledge(warm(), "Ana", "", at(5))
    back = band_finding(about(), Side.WARM, 20.8, replace(BAND, clear_after_s=0.0), Priority.HIGH)
    state, _ = step(state, back, at(1800))

    assert "Acknowledge" not in compose(Reason.RETURNED, "Bucket", [state], BERLIN, "http://pi:8330").body


def test_several_alarms_are_one_text_with_the_most_urgent_first() -> None:
    text = compose(Reason.FIRST, "Bucket", [warm(), silent()], BERLIN, None)

    assert text.title == "Bucket: no reading, too warm (urgent)"
    first, second = text.body.split("\n\n")
    assert first.startswith("No reading: nothing since 14:05, when it was 22.6 C.")
    assert second.startswith("Too warm: ")
    assert text.body.count("Acknowledge") == 1


def test_a_signed_link_goes_before_the_plain_one() -> None:
    text = compose(
        Reason.FIRST,
        "Bucket",
        [warm()],
        BERLIN,
        "http://pi",
        link_for=lambda s: f"https://x/{s.alarm_id}?s=1",
    )

    assert text.body.endswith("Acknowledge: https://x/1042?s=1")


def test_the_watch_itself_has_a_name_too() -> None:
    state = raised(subject=Subject("disk-low"))

    assert compose(Reason.FIRST, "", [state], BERLIN, None).title == "gylewatch: the disk is nearly full"


def test_the_band_is_shown_in_the_readers_degrees() -> None:
    body = compose(Reason.FIRST, "Bucket", [warm()], BERLIN, None, Units.FAHRENHEIT).body

    assert "The band is 65.3 F to 70.7 F." in body


@pytest.mark.parametrize(
    ("limits", "words"),
    [
        (replace(BAND, low_c=None), "The band ends at 21.5 C."),
        (replace(BAND, high_c=None), "The band begins at 18.5 C."),
    ],
)
def test_a_band_with_one_limit_is_said_as_such(limits: Limits, words: str) -> None:
    side, temp_c = (Side.WARM, 22.6) if limits.low_c is None else (Side.COLD, 17.0)
    found = band_finding(about(), side, temp_c, limits, Priority.LOW)
    state, _ = step(AlarmState(found.subject), found, T0)

    assert words in compose(Reason.FIRST, "Bucket", [state], BERLIN, None).body


def test_an_alarm_of_a_vessel_names_the_probe_that_saw_it() -> None:
    assert warm().subject.probe_id is None
    assert warm().probe_id == silent().probe_id == "28-00000a1b2c3d"


def test_a_message_on_another_day_names_the_day() -> None:
    body = compose(Reason.REMINDER, "Bucket", [warm()], BERLIN, None, now=at(86_400)).body

    assert "Answer by Wed 16:05." in body


def test_a_helper_gets_three_plain_sentences_about_the_most_urgent_one() -> None:
    text = compose_for_helper("Bucket", [warm(), silent()], BERLIN, "https://x/1")

    assert text.title == "Bucket: no reading"
    assert text.body.split("\n") == [
        "Bucket: no reading, nothing since 14:05, when it was 22.6 C.",
        CATALOGUE["no-reading"].helper,
        "Please do it by 15:06 only if you can do so safely, and open https://x/1 when you have.",
    ]


def test_many_vessels_are_one_text_with_a_line_for_each_alarm() -> None:
    gone = replace(warm(), returned_because="20.8 C, inside the band")
    text = compose_together(
        [
            (Reason.FIRST, "Bucket", [warm()]),
            (Reason.RETURNED, "Keg", [gone]),
            (Reason.FIRST, "Crate", [silent()]),
        ],
        BERLIN,
        "http://pi",
    )

    assert text.title == "3 vessels: 3 alarms"
    assert text.body.split("\n") == [
        "Crate: no reading: nothing since 14:05, when it was 22.6 C. Answer by 15:06.",
        "Bucket: too warm: 22.6 C since 14:05, 1.1 C over the band. Answer by 16:05.",
        "Keg: too warm (over): 20.8 C, inside the band.",
        "See and acknowledge: http://pi/alarms",
    ]


def test_what_does_not_fit_is_told_shorter_and_none_is_left_out() -> None:
    text = compose_together([(Reason.FIRST, f"V{i}", [warm()]) for i in range(45)], BERLIN, None)

    assert text.title == "45 vessels: 45 alarms"
    lines = text.body.split("\n")
    assert len(lines) == 42
    assert lines[40].startswith("And 5 more: V40: too warm, V41: too warm, ")
    assert all(f"V{i}: too warm" in text.body for i in range(45))


@pytest.mark.parametrize("key", CATALOGUE)
@pytest.mark.parametrize("reason", list(Reason))
def test_every_alarm_can_be_said_for_every_reason(key: str, reason: Reason) -> None:
    state = raised(subject=Subject(key, "bucket"))

    text = compose(reason, "Bucket", [state], BERLIN, "http://pi")

    assert "\n" not in text.title
    assert "None" not in text.body
    assert ".." not in text.body.replace("...", "")


@pytest.mark.parametrize(
    ("temp_c", "units", "words"),
    [(19.81, Units.CELSIUS, "19.8 C"), (-0.04, Units.CELSIUS, "0.0 C"), (20.0, Units.FAHRENHEIT, "68.0 F")],
)
def test_degrees(temp_c: float, units: Units, words: str) -> None:
    assert degrees(temp_c, units) == words


def test_a_difference_has_no_zero_point_and_no_sign() -> None:
    assert difference(-1.1) == "1.1 C"
    assert difference(1.0, Units.FAHRENHEIT) == "1.8 F"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (40, "40 s"),
        (720, "12 min"),
        (3600, "1 h"),
        (12_000, "3 h 20 min"),
        (86_400, "24 h"),
        (187_200, "2 days 4 h"),
    ],
)
def test_lengths_of_time(seconds: float, words: str) -> None:
    assert span(seconds) == words


def test_a_time_carries_as_much_date_as_it_needs() -> None:
    assert clock(T0, BERLIN, at(3600)) == "14:05"
    assert clock(T0, BERLIN, at(12 * 3600)) == "Wed 14:05"
    assert clock(T0, BERLIN, at(8 * 86_400)) == "2026-11-25 14:05"


def test_a_mash_that_is_too_warm_is_spoken_of_as_a_mash() -> None:
    found = band_finding(about(stage_kind="mash"), Side.WARM, 71.0, BAND, Priority.MEDIUM)
    state, _ = step(AlarmState(found.subject), found, T0)

    text = compose(Reason.FIRST, "Kettle", [state], BERLIN, None).body
    helper = compose_for_helper("Kettle", [state], BERLIN, None).body

    assert "fuller, sweeter beer" in text
    assert "Hot wort burns" in text
    assert "Answer by 14:15." in text
    assert "cupboard" not in text + helper
    assert "turn the heat under the pot off" in helper


def test_without_a_link_a_message_says_where_to_acknowledge() -> None:
    one = compose(Reason.FIRST, "Bucket", [warm()], BERLIN, None).body
    many = compose_together([(Reason.FIRST, "Bucket", [warm()])], BERLIN, None).body

    assert one.split("\n")[-1] == "Acknowledge on the page of the watch."
    assert many.split("\n")[-1] == "See and acknowledge: on the page of the watch."


def test_what_nobody_can_see_any_more_is_told_as_of_then() -> None:
    unseen = replace(warm(), unknown_since=at(1200))
    said = "22.6 C since 14:05, 1.1 C over the band; nothing is known of it since 14:25."

    assert said in compose(Reason.REMINDER, "Bucket", [unseen], BERLIN, None).body
    assert said in compose_together([(Reason.REMINDER, "Bucket", [unseen])], BERLIN, None).body
    assert said in compose_for_helper("Bucket", [unseen], BERLIN, None).body

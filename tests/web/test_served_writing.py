"""The brewer's units chosen on the page, on the real desk: pages and messages follow, the API does not."""

from service.record.notation import Notation
from service.watch.house import load_house
from tests.rig import PROBE, Rig, with_batch
from tests.web.served_pages import page, refused, send
from tests.web.visitor import Visitor

UNITS = "/settings/units"


def test_until_somebody_chooses_it_is_as_the_service_was_started(visitor: Visitor) -> None:
    assert (
        page(visitor, UNITS).one("h1").text.startswith("Figures are written like 19.8 C, 1.048 SG and 08:00")
    )


def test_what_was_chosen_shows_on_every_page_and_survives_a_restart(rig: Rig, visitor: Visitor) -> None:
    with_batch(rig)
    rig.rounds(3)

    assert send(visitor, UNITS, UNITS, temperatures="F", gravity="Plato", clock="12") == UNITS

    assert page(visitor, UNITS).one("h1").text == ("Figures are written like 67.6 F, 11.9 Plato and 8:00 am.")
    shown = page(visitor, "/").one(data_vessel="bucket")
    fahrenheit = rig.source.values[PROBE]
    assert fahrenheit is not None
    assert f"{fahrenheit * 1.8 + 32:.1f} F" in shown.text
    assert rig.get("/notation") == {
        "temperatures": "F",
        "gravity": "Plato",
        "clock": 12,
        "timezone": "UTC",
    }
    with rig.record.reading() as connection:
        assert load_house(connection).notation == Notation("F", "Plato", 12)


def test_alarms_speak_in_the_chosen_degrees_from_the_next_round_on(rig: Rig) -> None:
    with_batch(rig)
    rig.rounds(3)
    rig.patch("/notation", {"temperatures": "F"})

    rig.source.values[PROBE] = 35.0
    rig.until(1200)

    reasons = [alarm["reason"] for alarm in rig.get("/alarms")["items"]]
    assert any("95.0 F" in reason for reason in reasons), reasons


def test_a_choice_that_is_none_is_refused_and_nothing_changes(rig: Rig, visitor: Visitor) -> None:
    back = refused(visitor, UNITS, UNITS, temperatures="K")

    assert back.one(id="f-temperatures-wrong").text
    assert rig.get("/notation")["temperatures"] == "C"


def test_the_settings_lead_to_the_units(visitor: Visitor) -> None:
    assert page(visitor, "/settings").one("a", href=UNITS).text == "Units: C, SG, 24 h"

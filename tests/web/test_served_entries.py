"""What was written down is put right by form, packages are rows, and the brewer's units hold in all of it."""

import pytest

from tests.rig import Rig, with_batch
from tests.web.markup import Element, read
from tests.web.served_pages import begun, page, refused, send
from tests.web.visitor import Visitor


@pytest.fixture
def path(rig: Rig) -> str:
    """The page of a batch of 5 l whose yeast was pitched three minutes ago."""
    batch = with_batch(rig, og=1.045, expected_fg=1.010, volume_l=5)
    rig.until(180)
    return f"/batches/{batch}"


def typed(row: int, **parts: str) -> dict[str, str]:
    return {f"units/{row}/{part}": value for part, value in parts.items()}


def packed(rig: Rig, path: str) -> list[dict[str, object]]:
    (kept,) = rig.get(f"{path}/packagings")["items"]
    units: list[dict[str, object]] = kept["units"]
    return units


def test_packages_of_several_sizes_are_kept_and_told_with_right_plurals(
    rig: Rig, visitor: Visitor, path: str
) -> None:
    rows = {
        **typed(0, count="8", size_l="0,5", material="glass"),
        **typed(2, kind="keg", count="1", size_l="1"),
    }

    led = send(visitor, path, f"{path}/packagings", **rows, sugar="sucrose", sugar_g="29")

    assert led == f"{path}#packagings"
    assert packed(rig, path) == [
        {"kind": "bottle", "size_l": 0.5, "count": 8, "material": "glass"},
        {"kind": "keg", "size_l": 1.0, "count": 1, "material": None},
    ]
    told = page(visitor, path).one(data_part="list-packagings").text
    assert "Eight bottles of 0.5 l, glass and one keg of 1 l; 29 g of sucrose" in told


def test_more_bottles_than_beer_is_said_and_everything_typed_is_still_there(
    rig: Rig, visitor: Visitor, path: str
) -> None:
    back = refused(visitor, path, f"{path}/packagings", **typed(1, count="80", size_l="0.5"))

    assert "These hold 40.0 l, but the batch has 5 l" in back.one("p", id="packagings-units-wrong").text
    assert back.one("input", id="packagings-units/0/count").attributes["value"] == "80"
    assert "open" in back.one("details", id="packagings-new").attributes
    assert rig.get(f"{path}/packagings")["items"] == []


@pytest.mark.parametrize(
    "rows, field, words",
    [
        ({"units/0/count": "many", "units/0/size_l": "0.5"}, "units/0/count", "Is not a whole number."),
        ({"units/0/count": "3"}, "units/0/size_l", "Is empty. Give the litres of one."),
        ({"units/0/count": "3", "units/0/size_l": "half"}, "units/0/size_l", "Is not a number."),
        ({"units/0/count": "3", "units/0/size_l": "-1"}, "units/0/size_l", "Is not above 0."),
        ({"units/0/count": "0", "units/0/size_l": "1"}, "units/0/count", "Is below 1."),
        ({"units/0/count": "3", "units/0/size_l": "1", "sugar_g": "12"}, "sugar", "Say which sugar it was."),
        ({}, "units", "Give one line for each size."),
    ],
)
def test_a_wrong_package_is_said_beside_its_field(
    visitor: Visitor, path: str, rows: dict[str, str], field: str, words: str
) -> None:
    back = refused(visitor, path, f"{path}/packagings", **rows)

    assert words in back.one("p", id=f"packagings-{field}-wrong").text


def test_more_lines_are_given_without_a_script_and_without_keeping_anything(
    rig: Rig, visitor: Visitor, path: str
) -> None:
    form = page(visitor, path).one("form", action=f"{path}/packagings")
    before = len(form.all("input", inputmode="numeric"))

    answer = visitor.post(
        f"{path}/packagings", data={**begun(form), **typed(0, count="4", size_l="1"), "more": "units"}
    )

    longer = read(answer.text)
    assert answer.status_code == 200
    again = longer.one("form", action=f"{path}/packagings")
    assert len(again.all("input", inputmode="numeric")) > before
    assert longer.one("input", id="packagings-units/0/count").attributes["value"] == "4"
    assert longer.all("p", css="refused") == []
    assert rig.get(f"{path}/packagings")["items"] == []


def edit(visitor: Visitor, path: str) -> Element:
    return page(visitor, path)


def test_a_reading_is_put_right_and_what_was_cleared_is_gone(rig: Rig, visitor: Visitor, path: str) -> None:
    send(visitor, path, f"{path}/readings", sg="1.040", sample_c="24", at="2026-11-25T08:01")
    one = f"{path}/readings/1"
    shown = begun(edit(visitor, one).one("form", action=one))
    assert (shown["sg"], shown["sample_c"], shown["at"]) == ("1.04", "24", "2026-11-25T08:01")

    led = send(visitor, one, one, sg="", plato="9.5", sample_c="20")

    assert led == f"{path}#readings"
    (kept,) = rig.get(f"{path}/readings")["items"]
    assert (kept["n"], kept["sg"], kept["plato"], kept["sample_c"]) == (1, None, 9.5, 20)
    assert kept["at"] == "2026-11-25T08:01:00Z"


@pytest.mark.parametrize(
    "name, first, change, member, value",
    [
        ("notes", {"text": "Lid lose."}, {"text": "Lid loose."}, "text", "Lid loose."),
        ("sightings", {"what": "foam-up"}, {"what": "skin"}, "what", "skin"),
        ("additions", {"what": "Hops", "mass_g": "12"}, {"mass_g": "21"}, "mass_g", 21),
        ("additions", {"what": "Honey", "mass_g": "12", "extract_share_percent": "82"},
         {"extract_share_percent": "80"}, "extract_share", 0.8),
        ("packagings", {"units/0/count": "4", "units/0/size_l": "1"}, {"units/0/count": "5"}, "units",
         [{"kind": "bottle", "size_l": 1.0, "count": 5, "material": None}]),
    ],
)  # fmt: skip
def test_every_kind_of_entry_is_put_right_on_its_own_page(
    rig: Rig,
    visitor: Visitor,
    path: str,
    name: str,
    first: dict[str, str],
    change: dict[str, str],
    member: str,
    value: object,
) -> None:
    send(visitor, path, f"{path}/{name}", **first)
    link = page(visitor, path).one(data_part=f"list-{name}").one("a").attributes["href"]

    send(visitor, link, link, **change)

    (kept,) = rig.get(f"{path}/{name}")["items"]
    assert kept[member] == value


def test_a_slip_in_an_entry_comes_back_on_its_page_and_changes_nothing(
    rig: Rig, visitor: Visitor, path: str
) -> None:
    send(visitor, path, f"{path}/packagings", **typed(0, count="4", size_l="1"))
    one = f"{path}/packagings/1"

    back = refused(visitor, one, one, **typed(0, count="400", size_l="1"))

    assert "These hold 400.0 l" in back.one("p", id="f-units-wrong").text
    assert back.one("input", id="f-units/0/count").attributes["value"] == "400"
    assert packed(rig, path)[0]["count"] == 4


def test_a_change_sent_twice_is_made_once(rig: Rig, visitor: Visitor, path: str) -> None:
    send(visitor, path, f"{path}/notes", text="One.")
    one = f"{path}/notes/1"
    form = begun(page(visitor, one).one("form", action=one))

    visitor.post(one, data={**form, "text": "Two."})
    rig.patch(one, {"text": "Three."})
    again = visitor.post(one, data={**form, "text": "Two."})

    assert again.status_code == 303
    assert rig.get(f"{path}/notes")["items"][0]["text"] == "Three."


@pytest.mark.parametrize("n", ["7", "99999999999999999999"])
def test_an_entry_that_is_gone_is_said(visitor: Visitor, path: str, n: str) -> None:
    assert visitor.get(f"{path}/readings/{n}").status_code == 404


def test_a_sample_in_fahrenheit_is_turned_once_and_told_in_fahrenheit(
    rig: Rig, visitor: Visitor, path: str
) -> None:
    rig.patch("/notation", {"temperatures": "F", "gravity": "Plato"})
    form = page(visitor, path).one("form", action=f"{path}/readings")
    assert begun(form)["sample_c"] == "68"

    send(visitor, path, f"{path}/readings", plato="10", sample_c="77")

    (kept,) = rig.get(f"{path}/readings")["items"]
    assert (kept["plato"], kept["sample_c"], kept["instrument_c"]) == (10, 25, 20)
    told = page(visitor, path).one(data_part="list-readings").text
    assert "Hydrometer: 10.0 Plato at 77.0 F" in told
    again = f"{path}/readings/1"
    assert begun(page(visitor, again).one("form", action=again))["sample_c"] == "77"


def test_limits_of_a_sample_are_named_in_fahrenheit(rig: Rig, visitor: Visitor, path: str) -> None:
    rig.patch("/notation", {"temperatures": "F"})

    back = refused(visitor, path, f"{path}/readings", sg="1.040", sample_c="20")

    words = back.one("p", id="readings-sample_c-wrong").text
    assert "is outside 32 to 140 F" in words
    assert "Give 68 F." in words


def test_a_batch_is_begun_with_its_gravity_in_plato(rig: Rig, visitor: Visitor, path: str) -> None:
    rig.patch("/notation", {"gravity": "Plato"})
    rig.post("/vessels", {"name": "Jar"})
    rig.post("/plans", {"name": "P", "stages": [{"key": "a", "kind": "stand", "lasts_s": 60}]})
    whole = {"name": "Small", "vessel_id": "jar", "plan_id": "p"}

    refusal = refused(visitor, "/batches/new", "/batches", **whole, og="1.048")
    led = send(visitor, "/batches/new", "/batches", **whole, og="11.91", expected_fg="2.8")

    assert "Give 11.91 degrees Plato" in refusal.one("p", id="f-og-wrong").text
    kept = rig.get(led)
    assert (kept["og"], kept["expected_fg"]) == (
        pytest.approx(1.048, abs=1e-4),
        pytest.approx(1.011, abs=2e-4),
    )
    assert "11.9 Plato before, 2.8 Plato expected" in page(visitor, led).one(data_part="facts").text


def test_the_evidence_of_readiness_is_told_in_the_brewers_units(
    rig: Rig, visitor: Visitor, path: str
) -> None:
    rig.patch("/notation", {"temperatures": "F", "gravity": "Plato"})
    send(visitor, path, f"{path}/readings", plato="10")

    told = page(visitor, path).one(data_part="readiness").text

    assert " C" not in told.replace(" CO", "")
    assert " Plato" in told

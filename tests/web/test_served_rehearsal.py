"""A plan rehearsed by its form on the real desk."""

from tests.rig import Rig
from tests.web.markup import read
from tests.web.served_pages import begun, page
from tests.web.visitor import Visitor


def test_a_warm_room_makes_the_plan_stray_and_the_page_says_so(visitor: Visitor, rig: Rig) -> None:
    form = page(visitor, "/plans/new").one("form", action="/plans")
    typed = {"name": "Try", "in/volume_l": "5", "in/surroundings_c": "26", "in/wanted_at": "2027-01-10T12:00"}

    answer = visitor.post("/rehearsal", data={**begun(form), **typed})

    seen = read(answer.text)
    assert answer.status_code == 200, seen.text
    assert "Where it strays" in seen.text
    assert "Cold." in seen.text
    assert "When to brew" in seen.text
    assert len(seen.all("polyline", css="ahead")) == 1
    assert seen.one("polyline", css="ahead").attributes["points"].count(",") > 100
    assert rig.client.get("/api/v1/plans").json()["items"] == []


def test_without_a_volume_or_a_vessel_it_says_what_is_missing(visitor: Visitor) -> None:
    form = page(visitor, "/plans/new").one("form", action="/plans")

    answer = visitor.post("/rehearsal", data={**begun(form), "in/surroundings_c": "18"})

    wrong = read(answer.text).one("input", name="in/volume_l")
    assert answer.status_code == 422
    assert wrong.attributes["aria-invalid"] == "true"

"""A batch moved, split and gathered again, by the forms of its page on the real desk."""

import pytest

from tests.rig import Rig, with_batch
from tests.web.served_pages import page, refused, send
from tests.web.visitor import Visitor


@pytest.fixture
def batch(rig: Rig) -> str:
    made = with_batch(rig)
    rig.post("/vessels", {"name": "Glass <jar>"})
    rig.rounds(2)
    return made


def places(rig: Rig, batch: str) -> list[tuple[str, bool]]:
    """(vessel, still there), oldest first."""
    found = rig.get(f"/batches/{batch}/places")["items"]
    return [(p["vessel_id"], p["to"] is None) for p in sorted(found, key=lambda p: p["n"])]


def test_it_is_moved_by_a_form(rig: Rig, visitor: Visitor, batch: str) -> None:
    path = f"/batches/{batch}/places"
    jar = next(v["id"] for v in rig.get("/vessels")["items"] if v["name"] == "Glass <jar>")

    where = send(visitor, path, path, vessel_id=jar)

    assert where == path
    assert places(rig, batch) == [("bucket", False), (jar, True)]
    assert "Stair brown is in Glass <jar>." in page(visitor, path).one("h1").text


def test_a_part_goes_and_comes_out_again(rig: Rig, visitor: Visitor, batch: str) -> None:
    path = f"/batches/{batch}/places"
    jar = next(v["id"] for v in rig.get("/vessels")["items"] if v["name"] == "Glass <jar>")

    send(visitor, path, path, vessel_id=jar, also="yes")
    split = page(visitor, path).one("h1").text
    rig.rounds(2)
    send(visitor, path, f"{path}/2/empty")

    assert "is in Bucket and Glass <jar>." in split
    assert places(rig, batch) == [("bucket", True), (jar, False)]


def test_without_a_vessel_it_comes_back_with_what_was_ticked(visitor: Visitor, batch: str) -> None:
    path = f"/batches/{batch}/places"

    back = refused(visitor, path, path, vessel_id="", also="yes")

    assert "is not chosen" in back.text.lower()
    assert "checked" in back.one("input", name="also").attributes


def test_the_page_of_a_batch_leads_to_it_and_an_unknown_one_is_refused(visitor: Visitor, batch: str) -> None:
    links = [a.attributes.get("href", "") for a in page(visitor, f"/batches/{batch}").all("a")]

    assert f"/batches/{batch}/places" in links
    assert visitor.get("/batches/none/places").status_code == 404

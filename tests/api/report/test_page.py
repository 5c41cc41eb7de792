"""The report of a batch: needs nothing else, lets nothing in, and says what was written down."""

import base64
import hashlib
import re
from collections.abc import Iterator
from datetime import timedelta
from html.parser import HTMLParser

import pytest

from tests.record.filled import fill
from tests.rig import PLAN, PROBE, START, Rig, rig_in, with_batch


class Page(HTMLParser):
    """Tags, attributes and words of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)


@pytest.fixture(scope="module")
def reported(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Rig, str]]:
    with rig_in(tmp_path_factory.mktemp("filled")) as rig:
        batch = fill(rig)
        rig.post(
            f"/batches/{batch}/readings", {"sg": 1.030, "at": (START + timedelta(minutes=20)).isoformat()}
        )
        rig.patch(f"/batches/{batch}", {"name": "<img src=x onerror=alert(1)> & \U0001f37a"})
        yield rig, batch


def test_the_page_needs_nothing_else_and_runs_nothing(reported: tuple[Rig, str]) -> None:
    rig, batch = reported

    answer = rig.client.get(f"/api/v1/batches/{batch}/report")

    page = Page(answer.text)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert {tag for tag, _ in page.tags} & {"script", "link", "img", "iframe", "object", "form"} == set()
    assert [
        a for _, attrs in page.tags for a in attrs if a in ("src", "href", "style") or a.startswith("on")
    ] == []


def test_the_policy_allows_the_pages_own_style_and_nothing_else(reported: tuple[Rig, str]) -> None:
    rig, batch = reported

    answer = rig.client.get(f"/api/v1/batches/{batch}/report")

    policies = answer.headers.get_list("content-security-policy")
    style = re.search(r"<style>(.*?)</style>", answer.text, re.DOTALL)
    assert style is not None
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    assert len(policies) == 1
    assert policies[0].startswith(f"default-src 'none'; style-src 'sha256-{digest}';")
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_the_page_says_what_was_written_down_as_it_was_written(reported: tuple[Rig, str]) -> None:
    rig, batch = reported

    words = "".join(Page(rig.client.get(f"/api/v1/batches/{batch}/report").text).words)

    for said in (
        "<img src=x onerror=alert(1)> & \U0001f37a",
        'Smells of <b>bread</b> & \U0001f35e, "quoted"; a, b\nsecond',
        "foam up",
        "Candi sugar",
        "100 g",
        "9 bottles of 0.5 l",
        "25 g white",
        "above-band",
        "1.048",
        "Alcohol by volume",
    ):
        assert said in words
    assert "hydrometer" in words


def test_the_page_draws_the_beer_its_room_and_its_gravity(reported: tuple[Rig, str]) -> None:
    rig, batch = reported

    text = rig.client.get(f"/api/v1/batches/{batch}/report").text

    assert text.count("<svg") == 2
    assert 'class="line liquid"' in text
    assert "dot surroundings" in text
    assert text.count('class="reading"') == 2


def test_the_brewing_day_has_a_picture_of_its_own(rig: Rig) -> None:
    plan = {
        "name": "Day",
        "stages": [
            {"key": "rest", "kind": "mash", "target_c": 66, "lasts_s": 1800, "ends": "time"},
            {**PLAN["stages"][0]},
        ],
    }
    batch = with_batch(rig, plan)
    rig.source.values[PROBE] = 20.0
    rig.until(3600)

    text = rig.client.get(f"/api/v1/batches/{batch}/report").text

    assert text.count("<svg") == 2
    assert "rest" in text


def test_a_batch_without_anything_has_a_page_too(rig: Rig) -> None:
    rig.post("/vessels", {"name": "Bucket"})
    batch = rig.post("/batches", {"name": "Bare", "vessel_id": "bucket", "plan": PLAN})["id"]

    answer = rig.client.get(f"/api/v1/batches/{batch}/report")

    assert answer.status_code == 200
    assert "Bare" in answer.text
    assert "<svg" not in answer.text


def test_a_batch_that_is_not_there_is_a_404(rig: Rig) -> None:
    assert rig.client.get("/api/v1/batches/nobody/report").status_code == 404


def test_what_was_tasted_is_shown_with_what_explains_it(reported: tuple[Rig, str]) -> None:
    rig, batch = reported
    rig.post(f"/batches/{batch}/tastings", {"words": "Rough <i>&</i> sharp", "faults": ["gushing"]})
    rig.post(f"/batches/{batch}/squeezes", {"firm": True})
    rig.post(f"/batches/{batch}/openings", {"sg": 1.020})

    text = " ".join(Page(rig.client.get(f"/api/v1/batches/{batch}/report").text).words)

    assert "Rough <i>&</i> sharp" in text
    assert "no readings showed that the gravity had stood still" in text
    assert "common practice, from memory" in text
    assert "The witness bottle was firm." in text
    assert "do not move or open them warm" in text


def test_stages_strays_and_alarms_say_how_much_and_what_was_done(reported: tuple[Rig, str]) -> None:
    rig, batch = reported
    alarm = next(a for a in rig.get("/alarms")["items"] if a["key"] == "above-band")
    rig.post(f"/alarms/{alarm['id']}/acknowledge", {})

    text = " ".join(Page(rig.client.get(f"/api/v1/batches/{batch}/report").text).words)
    looked = rig.get(f"/batches/{batch}/summary")

    assert f"{100 * looked['stages'][0]['in_band_share']:.1f} %" in text
    assert f"alarm {alarm['id']} (above-band) acknowledged" in text
    assert f"{looked['strays'][0]['beyond_c']:.1f} C" in text
    assert {one["id"]: one for one in looked["alarms"]}[alarm["id"]]["answered_after_s"] is not None

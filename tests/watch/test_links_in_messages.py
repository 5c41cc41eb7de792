"""Links in messages lead where the reader can open them, or there are none."""

from pathlib import Path

import pytest

from service.record.outbox import messages
from service.watch.links import base_of_links
from tests.rig import PROBE, HandClock, HandSource, Rig, with_batch

HERE = "http://127.0.0.1:8330"


@pytest.mark.parametrize(
    ("page_url", "listens_at", "base"),
    [
        (None, HERE, None),
        (None, "http://127.8.9.1:8330", None),
        (None, "http://[::1]:8330", None),
        (None, "http://localhost:8330", None),
        (None, "http://0.0.0.0:8330", None),
        (None, "http://10.0.0.7:8330", "http://10.0.0.7:8330"),
        (None, "http://pi.example:8330", "http://pi.example:8330"),
        ("https://beer.example", HERE, "https://beer.example"),
        ("https://beer.example/cellar", "http://10.0.0.7:8330", "https://beer.example/cellar"),
    ],
)
def test_a_link_leads_to_the_address_given_or_to_one_that_others_can_open(
    page_url: str | None, listens_at: str, base: str | None
) -> None:
    assert base_of_links(page_url, listens_at) == base


def said(folder: Path, link_base: str | None) -> list[str]:
    rig = Rig(folder, HandClock(), HandSource({PROBE: 20.0}), link_base=link_base)
    try:
        hook = {"kind": "webhook", "url": "http://127.0.0.1:9/hook"}
        rig.post("/channels", {**hook, "name": "Hall", "digest_at": "09:00"})
        with_batch(rig)
        rig.rounds(2)
        rig.source.values[PROBE] = 22.6
        rig.until(3700)
        with rig.record.reading() as connection:
            return [str(m["text"]) for m in messages(connection)]
    finally:
        rig.client.close()
        rig.record.close()


def test_without_an_address_for_others_a_message_says_where_to_acknowledge(tmp_path: Path) -> None:
    texts = said(tmp_path, None)

    assert len(texts) >= 2
    assert any("Acknowledge on the page of the watch." in text for text in texts)
    assert any("Vessels now:" in text for text in texts)
    assert "http" not in "".join(texts)


def test_with_one_every_message_leads_there(tmp_path: Path) -> None:
    texts = said(tmp_path, "https://beer.example/cellar")

    assert all("https://beer.example/cellar/" in text for text in texts)
    assert any("Acknowledge: https://beer.example/cellar/acknowledge/" in text for text in texts)

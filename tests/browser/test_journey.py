"""A brewer's whole way on the installed program, once with a pointer and once with the keyboard alone.

From the first page to the last: a vessel, a probe on the bus, a plan, a batch, the stove, what was seen and
measured, whether it may be packaged, the sugar, the bottles, the end. A picture is kept of every step.
"""

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.conftest import PICTURES, Watched
from tests.browser.hands import Hands, Keyboard, Pointer
from tests.browser.test_pages import AXE
from tests.emulated.fixtures import EmulatedTreeMaker, emulated_tree
from tests.emulated.tree import EmulatedTree
from tests.running import Running

__all__ = ["emulated_tree"]
pytestmark = pytest.mark.browser

PROBE = "28-00000a1b2c3d"
SEEN_WITHIN_MS = 15_000
DESKTOP = {"viewport": {"width": 1280, "height": 800}}


class Way:
    """One journey: the page, the hands, and the pictures taken on the way."""

    def __init__(self, page: Page, hands: Hands, name: str) -> None:
        self.page = page
        self.hands = hands
        self._name = name
        self._steps = 0

    def arrived(self, where: str) -> None:
        """A step is done: it breaks no rule of WCAG, and its picture is kept."""
        self._steps += 1
        PICTURES.mkdir(parents=True, exist_ok=True)
        self.page.screenshot(
            path=PICTURES / f"journey-{self._name}-{self._steps:02}-{where}.png", full_page=True
        )
        found = Axe().run(self.page, options=AXE)
        assert found.violations_count == 0, found.generate_report()

    def link(self, name: str) -> None:
        self.hands.press(self.page.get_by_role("link", name=name, exact=True).first)

    def button(self, name: str) -> None:
        self.hands.press(self.page.get_by_role("button", name=name).first)

    def unfold(self, words: str) -> None:
        self.hands.press(self.page.locator("summary", has_text=words).first)

    def put(self, name: str, text: str) -> None:
        self.hands.fill(self.page.locator(f'main [name="{name}"]:visible').first, text)

    def pick(self, name: str, value: str) -> None:
        self.hands.choose(self.page.locator(f'main [name="{name}"]:visible').first, value)

    def headed(self, words: str) -> None:
        expect(self.page.locator("h1")).to_contain_text(words)


@pytest.mark.parametrize("context", [DESKTOP, {}], ids=["desktop", "phone"], indirect=True)
@pytest.mark.parametrize("hands", [Pointer, Keyboard])
def test_a_batch_is_brewed_from_the_first_page_to_its_bottles(
    emulated_tree: EmulatedTreeMaker,
    tmp_path: Path,
    context: BrowserContext,
    hands: type[Pointer] | type[Keyboard],
    request: pytest.FixtureRequest,
) -> None:
    tree = emulated_tree({PROBE: 66.0}, speed=20)
    with Running(tmp_path / "data", tree.root) as running:
        watched = Watched(context.new_page(), running.url)
        page = watched.open("/")
        name = f"{hands.__name__.lower()}-{request.node.callspec.id.split('-')[-1]}"
        way = Way(page, hands(page), name)

        prepare(way)
        brew(way, tree)
        ferment(way)
        package(way)

        assert [told for told in watched.complaints if "422" not in told] == []  # the slip that was refused
        assert watched.strangers == []
        (batch,) = running.get("/batches")["items"]
        assert (batch["state"], batch["og"]) == ("ended", 1.045)
        (packed,) = running.get(f"/batches/{batch['id']}/packagings")["items"]
        assert [(unit["count"], unit["size_l"]) for unit in packed["units"]] == [(8, 0.5), (2, 0.33)]


def prepare(way: Way) -> None:
    """From nothing to a plan: the vessel, the probe in it, the stages."""
    way.headed("No vessel yet.")
    way.link("Show me the first steps")
    way.arrived("first-steps")
    way.link("Add a vessel")
    way.put("name", "Bucket")
    way.put("volume_l", "5")
    way.arrived("vessel")
    way.button("Add this vessel")
    way.link("To the probes")
    expect(way.page.get_by_role("heading", name=PROBE)).to_be_visible(timeout=SEEN_WITHIN_MS)
    way.put("label", "Bucket, well")
    way.pick("vessel_id", "bucket")
    way.pick("mounting", "thermowell")
    way.arrived("probe")
    way.button("Keep this")
    expect(way.page.locator(".line-state").first).to_contain_text("liquid of Bucket")
    way.link("Batches")
    way.headed("No batch yet.")
    way.link("Start a batch")
    way.link("Make one")
    way.put("name", "Stair brown")
    mash = {"key": "mash", "target_c": "66", "lasts_h": "1"}
    primary = {"key": "primary", "target_c": "20", "lasts_h": "240"}
    for n, stage in enumerate((mash, primary)):
        for part, text in stage.items():
            way.put(f"stages/{n}/{part}", text)
    way.pick("stages/0/kind", "mash")
    way.pick("stages/0/ends", "brewer")
    way.pick("stages/1/kind", "primary")
    way.pick("stages/1/ends", "steady-gravity")
    way.arrived("plan")
    way.button("Keep this plan")
    way.headed("One plan to follow")


def brew(way: Way, tree: EmulatedTree) -> None:
    """The batch begins in the kettle and leaves it by the one large button."""
    way.link("Batches")
    way.link("Start a batch")
    way.put("name", "Stair brown")
    way.pick("vessel_id", "bucket")
    way.pick("plan_id", "stair-brown")
    for field, text in (("volume_l", "5"), ("og", "1.045"), ("expected_fg", "1.010")):
        way.put(field, text)
    way.arrived("batch-new")
    way.button("Start this batch")
    way.headed("Stair brown: mash")
    way.link("On the stove: timer and one button")
    expect(way.page.get_by_role("timer")).to_contain_text("59:")
    expect(way.page.locator(".stove-figure")).to_have_text("66.0 C", timeout=SEEN_WITHIN_MS)
    way.arrived("stove")
    way.button("Begin primary")
    way.headed("Stair brown is not on the stove.")
    tree.set(PROBE, 20.0)
    way.link("See the batch")
    way.headed("Stair brown: primary")


def ferment(way: Way) -> None:
    """What is seen and measured is written down; a slip is told, and put right."""
    way.button("Foam is up")
    expect(way.page.locator('[data-part="list-sightings"]')).to_contain_text("Foam is up")
    way.unfold("Write down a reading")
    way.put("sg", "1010")
    way.button("Keep this reading")
    expect(way.page.locator("#readings-sg-wrong")).to_contain_text("decimal point")
    way.put("sg", "1.010")
    way.button("Keep this reading")
    listed = way.page.locator('[data-part="list-readings"]')
    expect(listed).to_contain_text("Hydrometer: 1.0100 SG at 20.0 C")
    way.hands.press(listed.get_by_role("link", name="Put right"))
    way.put("sample_c", "24")
    way.arrived("put-right")
    way.button("Keep it like this")
    expect(listed).to_contain_text("Hydrometer: 1.0100 SG at 24.0 C")
    way.unfold("The checks and their evidence")
    expect(way.page.locator(".bench-answer")).to_contain_text("Not yet")
    expect(way.page.locator(".checks")).to_contain_text("Enough days since pitching: not met")
    way.arrived("readiness")


def package(way: Way) -> None:
    """Sugar, bottles, the end."""
    way.link("How much sugar?")
    way.put("wanted_volumes", "2.3")
    for field, text in (("0/size_l", "0.5"), ("0/count", "8"), ("1/size_l", "0.33"), ("1/count", "2")):
        way.put(f"bottles/{field}", text)
    way.unfold("What the batch knows itself")
    way.put("warmest_c", "20")
    way.button("Work it out")
    way.headed("g of sugar in all.")
    way.arrived("priming")
    way.link("Stair brown")
    way.unfold("Write down a packaging")
    rows = (("0/count", "8"), ("0/size_l", "0.5"), ("1/count", "2"), ("1/size_l", "0.33"))
    for field, text in rows:
        way.put(f"units/{field}", text)
    way.pick("sugar", "sucrose")
    way.put("sugar_g", "25")
    way.button("Keep this packaging")
    packed = "Eight bottles of 0.5 l and two bottles of 0.33 l; 25 g of sucrose"
    expect(way.page.locator('[data-part="list-packagings"]')).to_contain_text(packed)
    way.arrived("packaging")
    way.button("End this batch")
    way.headed("Stair brown: ended")
    way.arrived("ended")

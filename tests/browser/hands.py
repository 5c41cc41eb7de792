"""Two ways to use a page: with a pointer, or with nothing but a keyboard. Both see it as a person does."""

from typing import Protocol

from playwright.sync_api import Locator, Page, expect

MOST_TABS = 400


class Hands(Protocol):
    """What a person does on a page."""

    page: Page

    def press(self, what: Locator) -> None:
        """Press a button, follow a link, open what is folded."""
        ...

    def fill(self, field: Locator, text: str) -> None:
        """Put a text in place of what is there."""
        ...

    def choose(self, field: Locator, value: str) -> None:
        """Choose by an option's value."""
        ...


class Pointer:
    """With a mouse or a finger."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def press(self, what: Locator) -> None:
        what.click()

    def fill(self, field: Locator, text: str) -> None:
        field.fill(text)

    def choose(self, field: Locator, value: str) -> None:
        field.select_option(value)


class Keyboard:
    """With Tab, Enter, arrows and letters: nothing is focused but by Tab, and its focus must be seen."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def press(self, what: Locator) -> None:
        self._reach(what)
        self.page.keyboard.press("Enter")

    def fill(self, field: Locator, text: str) -> None:
        self._reach(field)
        self.page.keyboard.press("Control+A")
        self.page.keyboard.type(text)
        expect(field).to_have_value(text)

    def choose(self, field: Locator, value: str) -> None:
        self._reach(field)
        self.page.keyboard.press("Home")
        for _ in range(field.locator("option").count()):
            if field.input_value() == value:
                return
            self.page.keyboard.press("ArrowDown")
        raise AssertionError(f"{value!r} cannot be reached with the arrow keys")

    def _reach(self, what: Locator) -> None:
        expect(what).to_be_visible()
        for _ in range(MOST_TABS):
            if what.evaluate("e => e === document.activeElement"):
                shown = self.page.evaluate(FOCUS_SHOWS)
                assert shown, f"the focus on {what} cannot be seen"
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{what} cannot be reached with Tab")


FOCUS_SHOWS = """() => {
  const e = document.activeElement, style = getComputedStyle(e);
  const there = e.getBoundingClientRect();
  const ring = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) > 0;
  return ring && there.width > 0 && there.height > 0;
}"""

"""A thumb on a phone: it taps, types and picks, and counts its taps."""

from __future__ import annotations

from playwright.sync_api import Locator, Page

from tests.browser.screens import reveal


class Hand:
    """Works a page by touch.

    Parameters
    ----------
    taps
        Touches of the screen so far; the keys of the phone's own keyboard are not counted.
    """

    def __init__(self, page: Page) -> None:
        self.page = page
        self.taps = 0

    def tap(self, target: Locator) -> None:
        """Touch something."""
        target.tap()
        self.taps += 1

    def unfold(self, name: str) -> None:
        """Touch the title of something that is folded away."""
        self.tap(self.page.locator("summary", has_text=name).first)

    def send(self, button: Locator) -> None:
        """Touch what asks for the next page, and wait for it."""
        self.page.evaluate("document.querySelector('main').dataset.old = ''")
        self.tap(button)
        self.page.wait_for_selector("main:not([data-old])")

    def type(self, field: Locator, text: str) -> None:
        """Touch a field and type into it."""
        self.tap(field)
        field.fill(text)

    def pick(self, field: Locator, option: str) -> None:
        """Touch a list, then an entry of it."""
        field.select_option(option)
        self.taps += 2

    def press(self, name: str) -> None:
        """Touch the button of that name, and wait for the next page."""
        self.send(self.page.get_by_role("button", name=name, exact=True))

    def put(self, name: str, text: str) -> None:
        """Type or pick in the field of that name, unfolded first where it has to be."""
        field = self.page.locator(f'main [name="{name}"]').first
        if not field.is_visible():
            reveal(field)
            self.taps += 1
        if field.evaluate("e => e.tagName") == "SELECT":
            self.pick(field, text)
        else:
            self.type(field, text)

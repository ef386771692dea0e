"""A browser without JavaScript for the sketch page: it taps buttons and reads what comes back."""

from __future__ import annotations

import html
import re

import httpx2
from starlette.testclient import TestClient

from backprobe.jobs.store import Store
from backprobe.web.app import make_app
from backprobe.web.sketch_draft import Draft, unpack


class Browser:
    """One sketch at work."""

    def __init__(self, language: str = "en") -> None:
        self.store = Store.open(":memory:")
        self.client = TestClient(
            make_app(self.store),
            client=("127.0.0.1", 50_000),
            base_url="http://localhost",
            headers={"accept-language": language},
            raise_server_exceptions=False,
        )
        self.page = self.get("/sketch")

    def get(self, address: str) -> httpx2.Response:
        """A page by its address."""
        return self.client.get(address)

    def tap(self, button: str, **fields: str | list[str]) -> httpx2.Response:
        """Press a button of the sketch with what was typed beside it."""
        sent = {"token": self._hidden("token"), "s": self._hidden("s"), "do": button, **fields}
        self.page = self.client.post("/sketch", data=sent)
        assert self.page.status_code == 200, self.page.text
        return self.page

    def taps(self, *buttons: str) -> None:
        """Press buttons, one after the other; each must be there to be pressed."""
        for button in buttons:
            assert f'value="{button}"' in html.unescape(self.page.text), button
            self.tap(button)

    @property
    def draft(self) -> Draft:
        """The sketch that the page holds."""
        return unpack(self._hidden("s"))

    @property
    def text(self) -> str:
        """The page as it is read: without tags."""
        plain = re.sub(r"<(script|style)[\s\S]*?</\1>", " ", self.page.text)
        return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", plain)).split())

    def _hidden(self, name: str) -> str:
        found = re.search(rf'name="{name}" value="([^"]*)"', self.page.text)
        assert found, f"no field {name}"
        return html.unescape(found[1])

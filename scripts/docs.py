"""Fills the generated parts of the docs; a test compares, so that no page can go stale.

A part of a page that is made by a script stands between two marks::

    <!-- made by scripts/fault_rates.py: rates -->
    ...
    <!-- end -->

Some pages are made as a whole; `WHOLE` names them. The script of a part has a function ``maker``,
a context that gives a function from the words after the colon to the text of that part. One page
is filled from top to bottom by one maker of each script, so that a page may tell a story.
``make docs`` writes every page anew.
"""

from __future__ import annotations

import importlib
import re
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

ROOT = Path(__file__).parents[1]
PAGES = ROOT / "docs"
PART = re.compile(r"(<!-- made by scripts/(\w+)\.py: (.+?) -->\n).*?(<!-- end -->)", re.DOTALL)


WHOLE = {
    "commands.md": ("commands", "commands_page"),
    "json.md": ("commands", "json_page"),
    "screens.md": ("screenshots", "screens_page"),
}
"""Pages made as a whole: page to script and function."""


def made_pages() -> list[Path]:
    """The pages that are made, as a whole or in part, by name."""
    parts = [p for p in PAGES.glob("*.md") if PART.search(p.read_text(encoding="utf-8"))]
    return sorted({*parts, *(PAGES / name for name in WHOLE)})


def fresh_text(page: Path) -> str:
    """The text of a page with everything that is generated made anew."""
    if page.name in WHOLE:
        script, function = WHOLE[page.name]
        return str(getattr(importlib.import_module(f"scripts.{script}"), function)())
    with ExitStack() as stack:
        makers: dict[str, Callable[[str], str]] = {}

        def fill(found: re.Match[str]) -> str:
            name = found[2]
            if name not in makers:
                makers[name] = stack.enter_context(importlib.import_module(f"scripts.{name}").maker())
            return f"{found[1]}{makers[name](found[3]).rstrip()}\n{found[4]}"

        return PART.sub(fill, page.read_text(encoding="utf-8"))


def main() -> None:
    """Write every page that has changed."""
    for page in made_pages():
        text = fresh_text(page)
        if not page.exists() or text != page.read_text(encoding="utf-8"):
            page.write_text(text, encoding="utf-8")
            print(f"{page.relative_to(ROOT)}: written")


if __name__ == "__main__":
    main()

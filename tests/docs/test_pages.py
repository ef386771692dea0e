"""The docs: generated parts are fresh, examples work, links lead somewhere, every kind is described."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from backprobe.sheet.kinds import registry
from backprobe.sheet.reader import parse_sheet
from scripts.docs import PAGES, PART, fresh_text, made_pages
from scripts.fault_rates import kind_modes

ALL = sorted(PAGES.glob("*.md"))


def sheet_examples() -> list[str]:
    """The examples of the sheet reference: ``sheet:`` begins a sheet, others go on with it."""
    sheets: list[str] = []
    for piece in re.findall(
        r"```yaml\n(.*?)```", (PAGES / "sheet.md").read_text(encoding="utf-8"), re.DOTALL
    ):
        if piece.startswith("sheet:"):
            sheets.append(piece)
        else:
            sheets[-1] += piece
    return sheets


@pytest.mark.parametrize("page", made_pages(), ids=lambda p: p.name)
def test_generated_pages_are_fresh(page: Path) -> None:
    assert fresh_text(page) == page.read_text(encoding="utf-8"), "run `make docs`"


def test_the_pages_that_should_be_generated_are() -> None:
    names = {p.name for p in made_pages()}
    assert {"guide.md", "sheet.md", "fault-rates.md", "commands.md", "json.md", "outside-checks.md"} <= names


def test_a_stale_part_would_be_noticed() -> None:
    text = (PAGES / "fault-rates.md").read_text(encoding="utf-8")
    found = PART.search(text)
    assert found is not None
    assert len(found[0].splitlines()) > 20


@pytest.mark.parametrize("text", sheet_examples(), ids=lambda t: t.splitlines()[0])
def test_sheet_examples_parse_and_ask_nothing(text: str) -> None:
    sheet = parse_sheet(text, file="docs/sheet.md")
    assert sheet.unknown == ()
    assert sheet.functions


def test_the_sheet_reference_has_a_heading_for_every_kind() -> None:
    text = (PAGES / "sheet.md").read_text(encoding="utf-8")
    headings = set(re.findall(r"(?m)^### (?!\.\.\.)(.+)$", text))
    assert headings == set(registry().by_name)


def test_every_kind_has_fault_rates() -> None:
    modes = kind_modes()
    assert {kind for kind, found in modes.items() if found} == set(registry().by_name)
    assert all(m.why and m.rate > 0 for found in modes.values() for m in found)


@pytest.mark.parametrize("page", ALL, ids=lambda p: p.name)
def test_links_between_pages_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([\w./-]+\.md)", page.read_text(encoding="utf-8")):
        assert (page.parent / target).exists(), target


def test_files_named_in_the_architecture_exist() -> None:
    text = (PAGES / "architecture.md").read_text(encoding="utf-8")
    root = PAGES.parent
    named = set(re.findall(r"`((?:[a-z_]+/)+[a-z_]*(?:\.py)?)`", text))
    assert len(named) > 15
    for name in named:
        assert (root / "src" / "backprobe" / name).exists() or (root / name).exists(), name

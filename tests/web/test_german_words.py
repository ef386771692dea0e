"""Every fault and repair that the engine knows has its German, and sentences are put together well."""

from __future__ import annotations

import re

import pytest

from backprobe.demo.story import demo_sheets
from backprobe.faults.failure_mode import FAILURE_MODES
from backprobe.sheet.templates import templates
from backprobe.web.engine_words import DEPTH, LONGEST, EngineWords
from backprobe.web.texts import texts
from scripts.fault_rates import kind_modes

GERMAN = texts("de")
MODES = {mode.name: mode for modes in kind_modes().values() for mode in modes}
SHEETS = [t.sheet() for t in templates()]
ENGLISH = re.compile(r"\b(the|of|and|with|which|its|it|or|to|then|for|from|inside|broken)\b")
WORDS = EngineWords(
    {
        "and": "und",
        "or": "oder",
        "to": "bis",
        "is": "ist",
        "blown": "durch",
        "open, two of them": "offen, zwei",
        "{part}: {fault}": "{part}: {fault}",
        "{part}: {fault} ({share} %)": "{part}: {fault} ({share} %)",
        "one of {shares}": "eines von {shares}",
        "holds {list}": "hält {list}",
        "reads {span}": "zeigt {span}",
        "wants {rule}": "verlangt {rule}",
        "{num} beside {numother}": "{num} neben {numother}",
        "{plug} off": "{plug} ab",
        "Say {what} again.": "Noch einmal {what} sagen.",
        "No.": "Nein.",
        "write `{line}`": "`{line}` schreiben",
    },
    comma=True,
)


@pytest.mark.parametrize("name", sorted(MODES))
def test_every_fault_of_every_kind_has_its_german(name: str) -> None:
    mode = MODES[name]
    for text in (mode.mode, mode.repair, mode.why):
        said = GERMAN.said(text)
        assert said != text
        assert not ENGLISH.search(said.replace(mode.part, "")), said


def test_every_sheet_of_the_library_has_its_german() -> None:
    for sheet, template in zip(SHEETS, templates(), strict=True):
        cautions = [*sheet.cautions, *(c.caution for c in sheet.connectors.values() if c.caution)]
        for text in (template.about, sheet.name, *sheet.unknown, *cautions):
            assert GERMAN.said(text) != text


def test_every_failure_mode_identifier_has_its_german() -> None:
    assert [words for words in FAILURE_MODES.values() if GERMAN.said(words) == words] == []


def test_every_kind_of_part_has_its_german() -> None:
    assert [kind for kind in kind_modes() if kind not in GERMAN.entries] == []


@pytest.mark.parametrize(
    ("said", "german"),
    [
        ("holds fuse F1, relay K2 and C5", "hält fuse F1, relay K2 und C5"),
        ("reads 3 to 4.5 V", "zeigt 3 bis 4,5 V"),
        ("wants seat is seated and key is on", "verlangt seat ist seated und key ist on"),
        (
            "one of F1: blown (7 %), K1: open, two of them (3 %)",
            "eines von F1: durch (7 %), K1: offen, zwei (3 %)",
        ),
        ("1.5 V beside 2 V", "1,5 V neben 2 V"),
        ("the wheel beside C2", "the wheel beside C2"),
        ("C5 off", "C5 ab"),
        ("Y2 holds: take C5 off", "Y2 holds: take C5 ab"),
        ("No. Say that again.", "Nein. Noch einmal that sagen."),
        ("write `C1 to C2: 4.7 V`", "`C1 to C2: 4.7 V` schreiben"),
        ("K1.87a: blown", "K1.87a: durch"),
        ("nobody knows 1.5 of it", "nobody knows 1.5 of it"),
    ],
)
def test_sentences_are_put_together(said: str, german: str) -> None:
    assert WORDS.said(said) == german


def test_long_and_deep_texts_come_back() -> None:
    deep = "a: " * (DEPTH * 20) + "blown"
    assert WORDS.said(deep).startswith("a: a: ")
    long = "blown; " * LONGEST
    assert WORDS.said(long) == long
    many = "blown; " * 200 + "blown"
    assert WORDS.said(many) == many


def test_names_of_the_demo_stay() -> None:
    for sheet in demo_sheets().values():
        for name in sheet.parts:
            assert name in GERMAN.said(f"{name}: broken")

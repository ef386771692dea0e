"""What is wrong with an input is said in German on a German page, value and remedy included."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import backprobe
from backprobe.errors import BackprobeError, Problem
from backprobe.jobs.store import Store
from backprobe.sheet.reader import parse_sheet
from backprobe.web.kept import message_of
from backprobe.web.texts import texts

GERMAN = texts("de")
SOURCE = Path(backprobe.__file__).parent
PLACES = ("errors.py", "units.py", "unit_slips.py", "jobs", "readings", "sheet", "web", "workbench")
"""What a page may show the errors of."""
MAKERS = frozenset({"Problem", "add", "fail", "refuse", "store_error", "missing", "_wrong", "wrong"})
"""Calls that make an error of their texts."""
WORDS = 2
NUMBER = "7"
"""What stands in each gap: it fits those that hold a number, too."""
SAME = re.compile(r"\W|\b(?:V|A|mA|ohm|7|and)\b")
"""What a German says alike."""


def _texts(node: ast.expr, named: dict[str, list[ast.expr]]) -> Iterator[str]:
    """Texts that an expression may be, names followed to what their file gives them."""
    match node:
        case ast.Constant(value=str(text)):
            yield text
        case ast.JoinedStr(values=values):
            yield "".join(_piece(v) for v in values)
        case ast.IfExp(body=body, orelse=orelse):
            yield from _texts(body, named)
            yield from _texts(orelse, named)
        case ast.Name(id=name):
            for value in named.get(name, ()):
                if not isinstance(value, ast.Name):
                    yield from _texts(value, named)


def _piece(value: ast.expr) -> str:
    """A piece of a text with gaps: of two words in one gap the first."""
    match value:
        case ast.Constant(value=text) | ast.FormattedValue(value=ast.IfExp(body=ast.Constant(value=text))):
            return str(text)
    return NUMBER


def _named(tree: ast.Module) -> dict[str, list[ast.expr]]:
    """Names of a file to what is assigned to them."""
    found: dict[str, list[ast.expr]] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign):
            for target in node.targets:
                pairs = [(target, node.value)]
                if isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple):
                    pairs = list(zip(target.elts, node.value.elts, strict=False))
                for one, value in pairs:
                    if isinstance(one, ast.Name):
                        found.setdefault(one.id, []).append(value)
    return found


def _said() -> Iterator[tuple[str, str]]:
    for place in PLACES:
        path = SOURCE / place
        for file in sorted(path.rglob("*.py")) if path.is_dir() else [path]:
            tree = ast.parse(file.read_text(encoding="utf-8"))
            named = _named(tree)
            for node in ast.walk(tree):
                if not isinstance(node, ast.Call):
                    continue
                name = getattr(node.func, "attr", getattr(node.func, "id", ""))
                # The field and the value are the mechanic's own.
                own = node.args[2:4] if name in {"Problem", "add"} else node.args[1:]
                for argument in own if name in MAKERS else ():
                    yield from ((file.stem, text) for text in _texts(argument, named))


LOOSE = re.compile(rf"(?<=\.) {NUMBER}$|(?<=[a-z]){NUMBER}\b")
"""Gaps for a further sentence, or for words that may be missing."""
SAID = sorted({(f, LOOSE.sub("", text)) for f, text in _said() if len(text.split()) >= WORDS})


def test_what_can_be_wrong_is_found() -> None:
    assert len(SAID) > 200


def test_every_error_has_its_german() -> None:
    missing = [(f, t) for f, t in SAID if GERMAN.said(t) == t and SAME.sub("", t)]
    assert not missing, "add them to web/locale/de/engine_sheet.po or engine_store.po"


def test_a_sheets_errors_in_german() -> None:
    with pytest.raises(BackprobeError) as caught:
        parse_sheet("sheet: Mine\nruns:\n  main: [battery+, fuse F1 5 A, boom, C9, frame]\nnothing: 4\n")
    for line in message_of(caught.value).split("\n"):
        said = GERMAN.said(line)
        assert said != line
        assert not re.search(r"\b(?:is|known|neither|Did|Write|Use)\b", re.sub(r"'[^']*'", "", said)), said


def test_a_stores_error_in_german(tmp_path: Path) -> None:
    with pytest.raises(BackprobeError) as caught, Store.open(tmp_path) as store:
        store.jobs()
    assert GERMAN.said(message_of(caught.value)) == "ist ein Ordner. Eine Datei darin nennen"


def test_an_error_without_a_value_is_known_by_its_clause() -> None:
    error = BackprobeError(Problem("claim", "", "may be several plugs", "Name one: C5, C7."))
    assert GERMAN.said(message_of(error)) == "kann mehrere Stecker meinen. Einen nennen: C5, C7."

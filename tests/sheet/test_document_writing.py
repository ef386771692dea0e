"""Data laid out as a sheet file: it reads back to the same, and a person can read it too."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from backprobe.errors import SheetError
from backprobe.sheet import document
from backprobe.sheet.document import Node, Scalar, Sequence, read_document, write_document

Data = str | list[Any] | dict[str, Any]
LOADERS = [getattr(yaml, name) for name in ("SafeLoader", "CSafeLoader") if hasattr(yaml, name)]


@pytest.fixture(params=LOADERS, ids=lambda loader: loader.__name__, autouse=True)
def either_loader(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Run a test with the compiled parser and with the pure-Python one."""
    monkeypatch.setattr(document, "_LOADER", request.param)


def plain(node: Node) -> Data:
    """Return the texts of a node without lines."""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Sequence):
        return [plain(item) for item in node.items]
    return {key.text: plain(value) for key, value in node.entries}


def read(text: str) -> Data:
    return plain(read_document(text, file="s.yaml"))


def test_writing_is_short_where_it_fits_and_quotes_only_where_needed() -> None:
    data = {
        "sheet": "Straddle sprayer, gate circuit",
        "controls": {"key": ["off", "on"], "gate": ["shut", "open"]},
        "runs": {"power": ["battery+", "fuse F4 10 A", "C1-1"], "long": ["wire 2.4 m"] * 10},
        "parts": {
            "coil": {"ohm": "-8", "note": "% of 12 V: see #2", "bands": {"0..0.6 V": "low, code"}},
        },
        "checks": [{"red": "C1-3", "cautions": ["a", {"b": "c"}]}, "it's", [], {}, ["x", ["y"]]],
        "": "",
    }
    assert write_document(data) == (
        "sheet: Straddle sprayer, gate circuit\n"
        "controls: {key: [off, on], gate: [shut, open]}\n"
        "runs:\n"
        "  power: [battery+, fuse F4 10 A, C1-1]\n"
        "  long:\n" + "    - wire 2.4 m\n" * 10 + "parts:\n"
        "  coil:\n"
        "    ohm: -8\n"
        "    note: '% of 12 V: see #2'\n"
        "    bands: {0..0.6 V: 'low, code'}\n"
        "checks:\n"
        "  - red: C1-3\n"
        "    cautions:\n"
        "      - a\n"
        "      - {b: c}\n"
        "  - it's\n"
        "  - []\n"
        "  - {}\n"
        "  - - x\n"
        "    - [y]\n"
        "'': ''\n"
    )
    assert read(write_document(data)) == data


def test_no_line_of_brackets_is_wider_than_100_columns() -> None:
    fits, too_long = "x" * 92, "x" * 93
    # 4 columns for "  a:" and its space, 3 more for brackets: 2 + 2 + 1 + 2 + 93 = 100
    assert max(map(len, write_document({"p": {"a": [too_long]}, "q": ["y"]}).split("\n"))) == 100
    assert "- " not in write_document({"p": {"a": [fits], "b": {}}, "q": "y"})
    assert f"    - {too_long}x\n" in write_document({"p": {"a": [too_long + "x"], "b": {}}})


ODD = [
    "", " ", " a", "a ", "-", "- a", "-a", "--- a", "---", "...", "?", "? a", ":", ":a", "a:", "a: b",
    "a:b", "a #b", "a#b", "#", "%", "50 %", "+-2 %", "@", "`", "!", "!!str", "&a", "*a", "|", ">", "> 5 V",
    "'", "it's", '"', '"q"', "\\", "a,b", "[", "]", "{a}", "<<", "=", "~", "null", "off", "1:30", "a?b", "?b",
    "a\nb", "\n", "\t", "a\tb", "\r", "\u2028", "\u2029 x", "\xa0", "Ω 5 µA ±2 °C", "😀", "0..0.6 V",
]  # fmt: skip


@pytest.mark.parametrize("text", ODD)
def test_odd_texts_survive_everywhere(text: str) -> None:
    leaf = {text: text, "z": text}
    data = {text: leaf, "z": [text, text], "y": [leaf, [text], [[text]]], "x": {"w": {text: leaf}}}
    assert read(write_document(data)) == data


def test_long_names_survive() -> None:
    name = "n" * 3_000
    data = {name: "v", "a": {name + "'": {name: [{name: {"b": {name: "c"}}}], "d": {}}}}
    assert read(write_document(data)) == data


@pytest.mark.parametrize("bad", ["\x00", "\x07", "\x85", "\ufeff", "\uffff", "\ud800"])
def test_what_cannot_be_read_is_not_written(bad: str) -> None:
    with pytest.raises(SheetError, match=f"U\\+{ord(bad):04X}' is a character") as caught:
        write_document({"a": {"b": f"x{bad}"}})
    assert caught.value.problems[0].line == 0


def test_too_deep_or_too_large_is_not_written() -> None:
    data: dict[str, Data] = {"a": nested(19)}
    assert read(write_document(data)) == data
    for levels in (20, 21, 22, 5_000):
        with pytest.raises(SheetError, match="nested more than 20"):
            write_document({"a": nested(levels)})
    with pytest.raises(SheetError, match="larger than 1 MB"):
        write_document({"a": "x" * 1_000_001})


def nested(levels: int) -> Data:
    """Return a text inside that many lists."""
    data: Data = "x"
    for _ in range(levels):
        data = [data]
    return data


@pytest.mark.parametrize("bad", [{"a": 1}, {"a": [None]}, {"a": {"b": [1.0]}}, {1: "a"}, {"a": {2: "b"}}, []])
def test_only_dicts_lists_and_texts_are_written(bad: object) -> None:
    with pytest.raises(TypeError, match=r"not (int|float|NoneType|list)$"):
        write_document(bad)


KEEPABLE = st.text(
    st.one_of(
        st.characters(exclude_categories=("Cc", "Cs"), exclude_characters="\ufeff\ufffe\uffff"),
        st.sampled_from("-?:,[]{}#&*!|>'\"%@` \\.<=~\n\t\u2028"),
    ),
    max_size=30,
)
DATA = st.recursive(
    KEEPABLE,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEEPABLE, inner, max_size=4),
    max_leaves=25,
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.dictionaries(KEEPABLE, DATA, max_size=5))
def test_any_data_survives_writing_and_reading(data: dict[str, Data]) -> None:
    text = write_document(data)
    assert read(text) == data
    assert write_document(read(text)) == text

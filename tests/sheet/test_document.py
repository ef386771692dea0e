"""The sheet file as text: what is read, what is refused and how.

Expected messages are asked for by what they must name (line, field, culprit), and must not
name what a mechanic cannot know. Texts of the reading tests are invented.
"""

from __future__ import annotations

import re
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from backprobe.errors import Problem, SheetError
from backprobe.sheet import document
from backprobe.sheet.document import (
    Mapping,
    Node,
    Scalar,
    Sequence,
    field,
    read_document,
)

Data = str | list[Any] | dict[str, Any]
LOADERS = [getattr(yaml, name) for name in ("SafeLoader", "CSafeLoader") if hasattr(yaml, name)]
PARSER_WORDS = re.compile(
    r"token|scann|pars(?:e|ing)|stream|scalar|sequence|mapping|node|expected|<block|chr\(|Error", re.I
)


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


def refusals(text: str) -> tuple[Problem, ...]:
    with pytest.raises(SheetError) as caught:
        read_document(text, file="s.yaml")
    return caught.value.problems


def refusal(text: str) -> Problem:
    (problem,) = refusals(text)
    assert problem.file == "s.yaml"
    assert problem.message
    assert problem.remedy.endswith(".")
    return problem


# --- reading -----------------------------------------------------------------------------


def test_every_value_stays_the_text_that_was_typed() -> None:
    values = ["on", "off", "no", "yes", "010", "1:30", "1e3", "null", "~", "2026-03-02", "0x1F", "="]
    text = "".join(f"k{i}: {value}\n" for i, value in enumerate(values))
    assert list(read(text + "no: y\n")) == [*(f"k{i}" for i in range(len(values))), "no"]
    assert list(read(text).values()) == values  # type: ignore[union-attr]


def test_texts_of_the_trade_read_without_quotes() -> None:
    text = (
        "output: {gate shut: 63 %, gate open: 22 %}\n"
        "power: [battery+, fuse F4 10 A, key switch, C1-1, controller.battery, battery-]\n"
        "gate sensor:\n"
        "  feed: {volts: 9.0 V +-2 %, limit: 60 mA}\n"
        "  bands: {0..0.6 V: code low, 4.5..12 V: open}\n"
        "  margin: +-2 %\n"
        "  low: -9 V\n"
    )
    assert read(text) == {
        "output": {"gate shut": "63 %", "gate open": "22 %"},
        "power": ["battery+", "fuse F4 10 A", "key switch", "C1-1", "controller.battery", "battery-"],
        "gate sensor": {
            "feed": {"volts": "9.0 V +-2 %", "limit": "60 mA"},
            "bands": {"0..0.6 V": "code low", "4.5..12 V": "open"},
            "margin": "+-2 %",
            "low": "-9 V",
        },
    }


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_value_knows_its_line(end: str) -> None:
    text = "# note\na: x\n\nb:\n  - 'y'\n  - {c: z,\n     d: w}\ne:\nf: |\n  two\n  lines\ng: 1\n"
    top = read_document(text.replace("\n", end), file="s.yaml")
    assert top.line == 2
    assert [key.line for key, _ in top.entries] == [2, 4, 8, 9, 12]
    assert top.keys() == ("a", "b", "e", "f", "g")
    assert top.get("a") == Scalar("x", 2, quoted=False)
    assert top.get("e") == Scalar("", 8, quoted=False)
    assert top.get("f") == Scalar("two\nlines\n", 9, quoted=True)
    assert top.get("missing") is None
    b = top.get("b")
    assert isinstance(b, Sequence)
    assert (b.line, b.items[0]) == (5, Scalar("y", 5, quoted=True))
    leaf = b.items[1]
    assert isinstance(leaf, Mapping)
    assert [value.line for _, value in leaf.entries] == [6, 7]


def test_one_document_may_carry_its_marks() -> None:
    assert read("---\na: b\n...\n") == {"a": "b"}


def test_a_path_counts_list_items_from_one() -> None:
    assert field("runs", "power", 2) == "runs.power.item 3"
    assert field("two\nlines") == "two lines"


# --- refusing ----------------------------------------------------------------------------

STRUCTURE = [
    # text, line, field, culprit named, word of the message
    ("a: b\nc:\n  d: &x 1\n", 3, "c.d", "&x", "anchor"),
    ("a: &x {b: c}\n", 1, "a", "&x", "anchor"),
    ("a: *x\n", 1, "a", "*x", "refers"),
    ("*x : b\n", 1, "", "*x", "refers"),
    ("a: b\n<<: {c: d}\n", 2, "", "<<", "merges"),
    ("a: !!int 3\n", 1, "a", "tag:yaml.org,2002:int", "type mark"),
    ("a: ! 3\n", 1, "a", "!", "type mark"),
    ("a:\n  - b\n  - !odd [c]\n", 3, "a.item 2", "!odd", "type mark"),
    ("a: !!omap {b: c}\n", 1, "a", "omap", "type mark"),
    ("a: b\n---\nc: d\n", 2, "", "---", "second document"),
    ("a: b\n---\n", 2, "", "---", "second document"),
    ("- a\n- b\n", 1, "", "- ...", "named fields"),
    ("\njust words\n", 2, "", "just words", "named fields"),
    ("''\n", 1, "", "", "named fields"),
    ("a:\n  [b]: c\n", 2, "a", "", "name is a list"),
    ("{a: b}: c\n", 1, "", "", "name is a list"),
    ("a:\n  ?\n  : c\n", 2, "a", "", "no name"),
    ("a: >5\n", 1, "a", ">", "no text"),
    ('a: "x\\u0007"\n', 1, "a", "U+0007", "character"),
    ('a: "\\uFEFFx"\n', 1, "a", "U+FEFF", "character"),
    ("a:\n\tb: c\n", 2, "", "b: c", "tab"),
    ("\ufeffa: b\n", 1, "", "U+FEFF", "character"),
    ("a: b\nc: d\x00\n", 2, "", "U+0000", "character"),
    ("a: \x1b[0m\n", 1, "", "U+001B", "character"),
    ("a: b\u2028c: d\n", 1, "", "U+2028", "character"),
    ("a: \ud800\n", 1, "", "U+D800", "character"),
    ("%YAML 1.1\n---\na: b\n", 1, "", "%YAML 1.1", "begins with %"),
    ("%odd\n---\na: b\n", 1, "", "%odd", "begins with %"),
    ("a: b\n% full: 3\n", 2, "", "% full: 3", "begins with %"),
    ("", 0, "", "", "empty"),
    ("# only a note\n\n", 0, "", "", "empty"),
    ("---\n", 0, "", "", "empty"),
]


@pytest.mark.parametrize(("text", "line", "path", "value", "word"), STRUCTURE)
def test_what_a_sheet_does_not_use_is_named(text: str, line: int, path: str, value: str, word: str) -> None:
    problem = refusal(text)
    assert (problem.line, problem.field) == (line, path)
    assert value in problem.value
    assert word in problem.message


SYNTAX = [
    # text, line that a person has to look at, words of the message
    ("a: b\nnote: see: page 4\n", 2, "colon"),
    ("a: b\n  c: d\n", 2, "colon"),
    ("a: b\nc\nd: e\n", 2, "no colon"),
    ("a: b\nc: [x, y\nd: z\n", 2, "'['"),
    ("a: {b: c\nd: z\n", 1, "'{'"),
    ("a: {b: c", 1, "'{'"),
    ("a: [b,\n\n", 1, "bracket"),
    ("a: [b, , c]\n", 1, "lacks a value"),
    ("a: }\n", 1, "lacks a value"),
    ("a: 1\nb: 'x\nc: d\n", 2, "quote"),
    ("a: 1\nb: 'x\n---\n", 2, "quote"),
    ("a: 'b' c\n", 1, "belong"),
    ("a:\n  b: 1\n c: 2\n", 3, "belong"),
    ("- a\nb: 1\n", 2, "belong"),
    ("a:\n  : c\n", 2, "no name"),
    ("[a]\nb: c\n", 2, "belong"),
    ("a: [b]]\n", 1, "belong"),
    ("a: - b\n", 1, "list"),
    ("a: ? b\n", 1, "? "),
    ("a: %b\n", 1, "%"),
    ("a: @b\n", 1, "@"),
    ("a: `b`\n", 1, "`"),
    ("a: > 5 V\nb: 1\n", 1, "> or |"),
    ("a: >5 V\n", 1, "> or |"),
    ("a: |x\n", 1, "> or |"),
    ("a: *\n", 1, "* or &"),
    ("a: & b\n", 1, "* or &"),
    ("a: !x!y z\n", 1, "!"),
    ("a: !<x\n", 1, "!"),
    ('a: "\\q"\n', 1, "backslash"),
    ('a: "\\xzz"\n', 1, "backslash"),
    ("a:\n  -\tb: c\n", 2, "tab"),
]


@pytest.mark.parametrize(("text", "line", "word"), SYNTAX)
def test_a_syntax_error_is_told_in_plain_words(text: str, line: int, word: str) -> None:
    problem = refusal(text)
    assert problem.line == line
    assert word in problem.message
    assert problem.value == text.split("\n")[line - 1].strip().replace("\t", " ")
    assert not PARSER_WORDS.search(f"{problem.message} {problem.remedy}")


@pytest.mark.parametrize("escape", ["\\ud800", "\\U00110000", "\\UFFFFFFFF"])
def test_an_escape_that_is_no_character_is_refused(escape: str) -> None:
    problem = refusal(f'a: "{escape}"\n')
    assert re.search("backslash|character", problem.message)


def test_a_syntax_error_names_the_field_around_it() -> None:
    assert refusal("parts:\n  coil:\n    note: a: b\n").field == "parts.coil"


def test_all_duplicates_are_reported_with_both_lines() -> None:
    text = "a: 1\nb: {c: 1, 'c': 2}\na: 3\nd:\n  - e: 1\n    f: 2\n    e: 3\na: 4\n"
    found = [(p.field, p.value, p.line, p.message) for p in refusals(text)]
    assert found == [
        ("b.c", "c", 2, "is given twice, on line 2"),
        ("a", "a", 3, "is given twice, on lines 1 and 3"),
        ("d.item 1.e", "e", 7, "is given twice, on lines 5 and 7"),
        ("a", "a", 8, "is given twice, on lines 1 and 8"),
    ]


def test_different_troubles_are_gathered_and_a_syntax_error_comes_alone() -> None:
    text = "a: &x 1\nb: *x\nc: !t [1]\n[d]: 2\na: 3\n"
    assert [p.line for p in refusals(text)] == [1, 2, 3, 4, 5]
    assert refusal(text + "e: 'open\n").line == 6


def test_tabs_are_named_once_with_their_number() -> None:
    problem = refusal("a:\n\tb: 1\n  \tc: 2\n\td: 3\n")
    assert (problem.line, problem.message) == (2, "is indented with a tab (2 more like it below)")


@pytest.mark.parametrize("opening", ["[", "{a: ", "- ", "? ", "[? "])
def test_nesting_is_limited_however_deep_it_goes(opening: str) -> None:
    start = "a:\n " if opening in {"? ", "- "} else "a: "
    for many in (20, 500, 100_000):
        assert "nested more than 20" in refusals(start + opening * many)[-1].message


def test_twenty_levels_are_enough() -> None:
    # the mapping at the top is the first level
    assert read(f"a: {'[' * 19}{']' * 19}\n")
    assert read("a:\n " + "- " * 19 + "x\n")
    assert "nested more than 20" in refusal(f"a: {'[' * 20}{']' * 20}\n").message


def test_number_of_values_is_limited(monkeypatch: pytest.MonkeyPatch) -> None:
    assert document.MAX_NODES == 50_000
    monkeypatch.setattr(document, "MAX_NODES", 1_000)
    # one node for the top, one for the name, one for the list, the rest are items
    assert "more than 1,000 values" in refusal(f"a: [{'x,' * 998}]").message
    assert len(read_document(f"a: [{'x,' * 997}]", file="s.yaml").entries) == 1


def test_size_is_limited_in_bytes() -> None:
    assert "larger than 1 MB" in refusal(f"a: {'é' * 500_000}").message
    assert read_document(f"a: {'é' * 499_998}", file="s.yaml").keys() == ("a",)


def test_a_message_is_one_readable_line() -> None:
    assert str(refusal("parts:\n  coil: &c 8 ohm\n")) == (
        "s.yaml:2: parts.coil: '&c' is an anchor. "
        "Write the values out; put a text that begins with & * or ! in quotes."
    )
    assert len(refusal(f"a: [{'x' * 5_000}\n").value) == 60


# --- any text, and how fast ----------------------------------------------------------------------------

PIECES = st.sampled_from(
    ["a", "b: ", ": ", "- ", "? ", "[", "]", "{", "}", ", ", "\n", "  ", "\t", "'", '"', "\\", "\\x", "#",
     " #", "&a", "*a", "!", "!!", "!<", "%", "%YAML 1.1", "---", "...", "|", ">", "@", "`", "<<", "\r",
     "\x85", "\u2028", "\ufeff", "\x00", "\ud800", "é", "~", "é: "]
)  # fmt: skip
ANYTHING = st.one_of(
    st.text(st.characters(exclude_categories=())), st.lists(PIECES, max_size=30).map("".join)
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(ANYTHING)
@example("? ? ? a")
@example("\t\ud800")
@example('a: "\\U00110000"')
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        read_document(text, file="s.yaml")
    except SheetError as error:
        for problem in error.problems:
            assert problem.message
            assert problem.remedy
            str(problem).encode("utf-8")
            assert "\n" not in str(problem)


def test_a_large_sheet_is_read_whole() -> None:
    part = (
        "  part {0}:\n    kind: coil\n    ohm: {{value: 7.7 ohm, origin: assumed}}\n    run: [C1-1, C2-1]\n"
    )
    parts = 600 if document._LOADER is getattr(yaml, "CSafeLoader", None) else 20
    node = read_document("parts:\n" + "".join(part.format(i) for i in range(parts)), file="s.yaml")
    found = node.get("parts")
    assert isinstance(found, Mapping)
    assert [k.line for k, _ in found.entries] == [2 + 4 * i for i in range(parts)]

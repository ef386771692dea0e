"""A sketch in an address, and the steps that change its text."""

from __future__ import annotations

import base64
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from backprobe.errors import SheetError
from backprobe.sheet.reader import parse_sheet
from backprobe.sheet.templates import Template, templates
from backprobe.web.sketch_draft import ADDRESS, MAX_KEPT, STEPS, Draft, pack, unpack
from backprobe.web.sketch_edit import add, begin, change, go_on, is_complete, retype, say
from backprobe.web.sketch_parts import free_contacts, item_of, next_cavities, terminal_of, wire_of
from backprobe.web.sketch_steps import take
from backprobe.web.sketch_view import view_of

texts = st.text(st.characters(codec="utf-8"), max_size=60)


@given(text=texts, run=texts, at=st.integers(-1, 9), past=st.lists(texts, max_size=4))
def test_what_is_packed_is_unpacked(text: str, run: str, at: int, past: list[str]) -> None:
    draft = Draft(text, run, at, tuple(past))
    assert unpack(pack(draft)) == draft


def test_the_oldest_steps_are_forgotten_before_an_address_grows_too_long() -> None:
    # Texts without a pattern, so that nothing can be folded.
    noise = [
        base64.b85encode(zlib.crc32(str(i).encode()).to_bytes(4, "big") * 1).decode() for i in range(9000)
    ]
    past = tuple("".join(noise[k * 300 : (k + 1) * 300]) for k in range(STEPS))
    draft = Draft("".join(noise[-40:]), past=past)
    packed = pack(draft)
    assert len(packed) <= ADDRESS
    kept = unpack(packed)
    assert kept.text == draft.text
    assert 0 < len(kept.past) < STEPS
    assert kept.past == past[: len(kept.past)]


@pytest.mark.parametrize(
    "packed", ["!!", "AAAA", "eNrVjzEL", "W10", base64.b64encode(zlib.compress(b"[]")).decode()]
)
def test_what_is_no_sketch_is_refused(packed: str) -> None:
    with pytest.raises(SheetError, match="is no sketch"):
        unpack(packed)


def test_an_address_cannot_unfold_without_end() -> None:
    bomb = base64.urlsafe_b64encode(zlib.compress(b'{"text":"' + b"x" * (3 * MAX_KEPT))).decode().rstrip("=")
    with pytest.raises(SheetError, match="is no sketch"):
        unpack(bomb)


@pytest.mark.parametrize(
    ("word", "name", "value", "items", "item"),
    [
        ("fuse", "", "", [], "fuse F1"),
        ("fuse", "", "5", ["fuse F1 10 A", "fuse F7"], "fuse F8 5 A"),
        ("fuse", "4", "7,5 A", [], "fuse F4 7.5 A"),
        ("relay coil", "k3", "84", [], "relay coil K3 84 ohm"),
        ("relay coil", "start", "", [], "start relay coil"),
        ("relay coil", "start relay", "84", [], "start relay coil 84 ohm"),
        ("coil", "starter", "", [], "coil starter"),
        ("lamp", "", "5", [], "lamp H1 5 W"),
        ("seat switch", "", "", [], "seat switch"),
        ("seat switch", "", "", ["seat switch"], "seat switch 2"),
        ("seat switch", "", "", ["seat switch", "seat switch 2"], "seat switch 3"),
        ("gate switch", "tailgate", "", [], "tailgate switch"),
        ("gate switch", "rear flip", "", [], "rear flip gate switch"),
        ("gate switch", "leg", "", [], "leg gate switch"),
        ("seat switch", "driver's seat", "", [], "driver's seat switch"),
        ("lever neutral switch", "travel lever", "", [], "travel lever switch"),
        ("start button", "crank", "", [], "crank button"),
        ("switch", "reverse lockout", "", [], "reverse lockout switch"),
        ("switch", "reverse lockout switch", "", [], "reverse lockout switch"),
    ],
)
def test_a_button_writes_what_a_run_says(
    word: str, name: str, value: str, items: list[str], item: str
) -> None:
    assert item_of(word, name, value, items) == item


def test_cavities_and_contacts_are_counted_on() -> None:
    assert next_cavities(["battery+"]) == ("C1-1", "")
    assert next_cavities(["C1-1", "fuse F1", "c4-2", "C4-7"]) == ("C4-8", "C5-1")
    left = free_contacts(["relay coil K1 88 ohm", "relay contact K1", "start relay coil"])
    assert [c.item for c in left] == [
        "relay resting contact K1",
        "start relay contact",
        "start relay resting contact",
    ]
    assert [c.relay for c in left] == ["K1", "start", "start"]
    assert wire_of("RD", "", "", "") == "wire RD"
    assert wire_of("", "", "2", "") == "wire 2 m"


def test_the_first_mention_of_a_sensor_names_its_kind() -> None:
    first = terminal_of("gate sensor", "ratiometric sensor", "supply", [])
    assert first == "ratiometric sensor gate sensor.supply"
    assert terminal_of("gate sensor", "ratiometric sensor", "output", [first]) == "gate sensor.output"
    assert terminal_of("controller", "controller", "gate input", []) == "controller.gate input"


@pytest.mark.parametrize(
    ("items", "complete"),
    [
        (["battery+"], False),
        (["battery+", "fuse F1 7.5 A"], False),
        (["battery+", "fuse F1", "frame"], True),
        (["battery+", "fuse F1", "ground"], True),
        (["battery+", "fuse F1", "controller.battery"], True),
        (["battery+", "fuse F1", "lamp H1"], True),
    ],
)
def test_a_run_is_complete_at_the_return_a_terminal_or_another_run(items: list[str], complete: bool) -> None:
    assert is_complete("main", {"main": items, "other": ["lamp H1", "frame"]}) is complete


def test_remarks_typed_by_hand_are_kept_once() -> None:
    draft = retype(Draft(), "# from the book\nsheet: A\nruns:\n  main: [battery+, fuse F1] # torn off\n")
    for item in ("key switch", "frame"):
        draft = add(draft, item)
    assert draft.text.count("# from the book") == 1
    assert draft.text.count("# torn off") == 1
    assert "main: [battery+, fuse F1, key switch, frame]" in draft.text


def test_a_run_that_was_begun_and_left_is_dropped_by_the_next() -> None:
    draft = begin(begin(Draft(), "battery+"), "battery+")
    assert [r.name for r in view_of(draft).runs] == ["main"]


def test_the_last_thing_of_a_run_may_be_taken_out() -> None:
    draft = change(Draft(), "main", 0, "")
    assert view_of(draft).items == ("battery+",)
    assert change(draft, "main", 7, "fuse") == draft


def test_an_answer_that_is_emptied_is_taken_out_again() -> None:
    draft = add(Draft(), "fuse F1")
    said = say(draft, "fuse F1", "rating", "5 A")
    assert "parts" in said.text
    assert "parts" not in say(said, "fuse F1", "rating", "").text


def test_the_pencil_goes_on_behind_what_it_wrote() -> None:
    draft = add(add(Draft(), "fuse F1"), "frame")
    draft = add(add(go_on(draft, "main", 1), "C1-1"), "C1-2")
    assert view_of(draft).items == ("battery+", "C1-1", "C1-2", "fuse F1", "frame")
    assert draft.at == 3


def test_a_button_of_another_page_changes_nothing() -> None:
    assert take(Draft(), "explode:all", {}) == Draft()


def test_a_text_of_the_wrong_shape_gives_problems_and_no_drawing() -> None:
    for text in (
        "runs: 5\n",
        "sheet: A\nruns: {main: {a: b}}\n",
        "sheet: A\nparts: 3\nruns: {main: [battery+]}\n",
    ):
        view = view_of(Draft(text))
        assert view.sheet is None
        assert view.drawing == ""


@pytest.mark.parametrize("made", templates(), ids=lambda t: t.name)
def test_a_template_goes_on_as_a_sketch_with_nothing_lost(made: Template) -> None:
    draft = retype(Draft(), made.text)
    first = view_of(draft).runs[0]
    step = change(draft, first.name, 0, first.items[0])
    assert step.text != draft.text
    before, after = parse_sheet(draft.text), parse_sheet(step.text)
    assert set(before.functions) == set(after.functions)
    assert before.cautions == after.cautions
    for name, part in before.parts.items():
        other = after.parts[name]
        assert (part.values, part.closed, part.levels, part.texts) == (
            other.values,
            other.closed,
            other.levels,
            other.texts,
        )
        assert {n: (p.values, p.bands) for n, p in part.pins.items()} == {
            n: (p.values, p.bands) for n, p in other.pins.items()
        }

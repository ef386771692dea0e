"""Values that may be one of a few: how they are written, and what is said where they cannot be read."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.report.sheet_schema import sheet_schema
from backprobe.sheet.document import plain, read_document
from tests.cli.helpers import misfits
from tests.sheet.open_builds import FEED, sheet_text


def volts(text: str) -> list[float]:
    """Nominal volts of the feed, build by build."""
    sheet = bp.parse_sheet(sheet_text(text))
    return [b.sheet.parts["controller"].pins["feed"].values["volts"].nominal for b in sheet.builds]


@pytest.mark.parametrize(
    "text",
    [
        "4.5, 7 or 9.5 V",
        "4.5 V, 7 V or 9.5 V",
        "4.5 V or 7 V or 9.5 V",
        "4.5 or 7 or 9.5 V",
        "4.5 V, 7 V, or 9.5 V",
        "'4.5, 7 or 9.5 V'",
        "{one of: [4.5 V, 7 V, 9.5 V]}",
        "{one of: '4.5, 7 or 9.5 V', origin: assumed, why: no book}",
        "{value: 4.5 or 7 or 9.5 V, origin: assumed, why: no book}",
    ],
)
def test_one_meaning_in_many_notations(text: str) -> None:
    assert volts(text) == [4.5, 7.0, 9.5]


def test_as_typed_in_a_block() -> None:
    block = sheet_text("7 V").replace(
        "feed: {volts: 7 V, limit: 70 mA}",
        "feed:\n      volts: 4.5, 7 or 9.5 V\n      limit: 70 mA",
    )
    sheet = bp.parse_sheet(block)
    assert [b.choices for b in sheet.builds] == [((FEED, v),) for v in ("4.5 V", "7 V", "9.5 V")]
    assert sheet.builds[0].share == pytest.approx(1 / 3)


def test_what_follows_the_last_number_counts_for_the_bare_ones() -> None:
    sheet = bp.parse_sheet(sheet_text("5 or 10 V +-2 %"))
    pins = [b.sheet.parts["controller"].pins["feed"].values["volts"] for b in sheet.builds]
    assert [(p.low, p.high) for p in pins] == [
        pytest.approx((4.9, 5.1)),
        pytest.approx((9.8, 10.2)),
    ]


def test_the_likeliest_comes_first_and_notes_go_with_every_value() -> None:
    sheet = bp.parse_sheet(sheet_text("{one of: [4.5 V, 7 V], shares: [20 %, 80 %], why: seen on a sister}"))
    assert [b.choices[0][1] for b in sheet.builds] == ["7 V", "4.5 V"]
    assert [b.share for b in sheet.builds] == pytest.approx([0.8, 0.2])
    assert sheet.parts["controller"].pins["feed"].values["volts"].origin.note == "seen on a sister"


def test_combinations_are_builds_and_the_sheet_asks_which() -> None:
    text = sheet_text("4.5 V or 7 V").replace("pull-down: 27 kohm", "pull-down: 2.7k, 27k or 270 kohm")
    sheet = bp.parse_sheet(text)
    assert len(sheet.builds) == 6
    assert sum(b.share for b in sheet.builds) == pytest.approx(1)
    assert sheet.unknown[0] == (
        "which build: feed volts 4.5 V or 7 V; gate input pull-down 2.7k, 27k or 270 kohm?"
    )


def test_bands_follow_the_feed() -> None:
    sheet = bp.parse_sheet(sheet_text("5 or 10 V", "{0..20 %: open, 70..105 %: shut}"))
    bands = [b.sheet.parts["controller"].pins["gate input"].bands for b in sheet.builds]
    assert [(b.low, b.high) for b in bands[0]] == [pytest.approx((0, 1)), pytest.approx((3.5, 5.25))]
    assert [(b.low, b.high) for b in bands[1]] == [pytest.approx((0, 2)), pytest.approx((7, 10.5))]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{one of: [5 V]}", "does not name two or more values"),
        ("5 V or 5 V", "stands twice among the values"),
        ("{one of: [5 V, 7 V], shares: [1]}", "does not give each value a share"),
        ("{one of: [5 V, 7 V], shares: [1, 0]}", "does not give each value a share"),
        ("{one of: [5 V, 7 V], share: [1, 2]}", "is not known here"),
        ("5 V or 7 A", "'7 A' is a current (A), and a voltage (V) is needed"),
        ("1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 or 13 V", "and 12 are most"),
    ],
)
def test_one_clear_message(text: str, said: str) -> None:
    with pytest.raises(bp.SheetError) as caught:
        bp.parse_sheet(sheet_text(text), file="rail.yaml")
    assert len(caught.value.problems) == 1
    message = str(caught.value)
    assert said in message
    assert message.startswith("rail.yaml:")
    assert "parts" in message


def test_a_band_in_percent_needs_a_feed() -> None:
    text = sheet_text("7 V").replace("    feed: {volts: 7 V, limit: 70 mA}\n", "")
    with pytest.raises(bp.SheetError, match="is a share of a feed whose volts are not written"):
        bp.parse_sheet(text)


def test_texts_are_no_alternatives() -> None:
    text = sheet_text("7 V").replace("parts:\n", "parts:\n  coil Y2: {caution: 2 or 3 people lift it.}\n")
    sheet = bp.parse_sheet(text)
    assert sheet.builds == ()
    assert sheet.parts["coil Y2"].caution == "2 or 3 people lift it."


@pytest.mark.parametrize(
    "text", ["{one of: [4.5 V, 7 V], shares: [1, 2]}", "{one of: 4.5 or 7 V, why: no book}"]
)
def test_the_schema_of_a_value_takes_them(text: str) -> None:
    written = read_document(f"volts: {text}", file="-").get("volts")
    assert written is not None
    _, stated = sheet_schema()["$defs"]["value"]["anyOf"]
    fields = {word: rule for word, rule in stated.items() if word != "anyOf"}
    assert not misfits(plain(written), fields)
    assert misfits({"one off": ["4.5 V", "7 V"]}, fields)
    assert {"required": ["one of"]} in stated["anyOf"]

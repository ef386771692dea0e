"""Field notation: what the trade writes is read as the trade means it, or refused with a remedy.

Sources: letter and digit codes (4k7, 84R) after IEC 60062 [mem]; prefixes and the space before a unit after
ISO 80000-1 [mem]; over-range marks and 'about' are common practice, no source.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from backprobe.errors import UnitError
from backprobe.unit_slips import MAX_TEXT
from backprobe.unit_tables import KINDS
from backprobe.units import Toleranced, format_quantity, parse_quantity, parse_range, parse_toleranced

UNITS = [unit for unit in KINDS if unit]

# text, unit asked for, value, unit, digit
READ = [
    ("12.4", "V", 12.4, "V", 0.1),
    ("12.4", None, 12.4, "", 0.1),
    ("4.78", "V", 4.78, "V", 0.01),
    ("12.4 V", None, 12.4, "V", 0.1),
    ("12.4v", "V", 12.4, "V", 0.1),
    ("12 V DC", "V", 12.0, "V", 1.0),
    ("20 mV", "V", 0.02, "V", 0.001),
    ("60 mA", "A", 0.06, "A", 0.001),
    ("7.5 A", "A", 7.5, "A", 0.1),
    ("7.5A", None, 7.5, "A", 0.1),
    ("5 \u00b5A", "A", 5e-6, "A", 1e-6),
    ("5 \u03bcA", "A", 5e-6, "A", 1e-6),
    ("5 uA", "A", 5e-6, "A", 1e-6),
    ("55 W", "W", 55.0, "W", 1.0),
    ("2.4 m", "m", 2.4, "m", 0.1),
    ("2.4 m", None, 2.4, "m", 0.1),
    ("5m", "m", 5.0, "m", 1.0),
    ("35 mm", "m", 0.035, "m", 0.001),
    ("1.5 mm2", "mm2", 1.5, "mm2", 0.1),
    ("0.75 mm\u00b2", None, 0.75, "mm2", 0.01),
    ("-30 C", "degC", -30.0, "degC", 1.0),
    ("-30 \u00b0C", None, -30.0, "degC", 1.0),
    ("\u221230 degC", "degC", -30.0, "degC", 1.0),
    ("63 %", "%", 63.0, "%", 1.0),
    ("1.2 kHz", "Hz", 1200.0, "Hz", 100.0),
    ("250 ms", "s", 0.25, "s", 0.001),
    ("5 min", "min", 5.0, "min", 1.0),
    ("5 min", "s", 300.0, "s", 60.0),
    ("90 s", "min", 1.5, "min", 1 / 60),
    (".5 V", "V", 0.5, "V", 0.1),
    ("+0.5 V", "V", 0.5, "V", 0.1),
]
OHMS = [
    ("84", 84.0, 1.0),
    ("84 ohm", 84.0, 1.0),
    ("84 Ohms", 84.0, 1.0),
    ("84 \u03a9", 84.0, 1.0),
    ("84 \u2126", 84.0, 1.0),
    ("84R", 84.0, 1.0),
    ("4R7", 4.7, 0.1),
    ("0R47", 0.47, 0.01),
    ("4k7", 4700.0, 100.0),
    ("4K7", 4700.0, 100.0),
    ("4M7", 4.7e6, 1e5),
    ("4k70", 4700.0, 10.0),
    ("4.7k", 4700.0, 100.0),
    ("4.7 k", 4700.0, 100.0),
    ("4.7 kohm", 4700.0, 100.0),
    ("4.7 Kohm", 4700.0, 100.0),
    ("4.7 k\u03a9", 4700.0, 100.0),
    ("48 kohm", 48e3, 1e3),
    ("1M", 1e6, 1e6),
    ("1 Mohm", 1e6, 1e6),
    ("5m", 0.005, 0.001),
    ("1 mohm", 0.001, 0.001),
]


@pytest.mark.parametrize(("text", "asked", "value", "unit", "digit"), READ)
def test_field_notation_is_read(text: str, asked: str | None, value: float, unit: str, digit: float) -> None:
    got = parse_quantity(text, unit=asked)
    assert (got.unit, got.about, got.over_range) == (unit, False, False)
    assert got.value == pytest.approx(value, rel=1e-15)
    assert got.digit == pytest.approx(digit, rel=1e-15)
    assert got.half_width == pytest.approx(digit / 2, rel=1e-15)


@pytest.mark.parametrize(("text", "value", "digit"), OHMS)
def test_ohms_in_all_their_notations(text: str, value: float, digit: float) -> None:
    got = parse_quantity(text, unit="ohm")
    assert (got.unit, got.value, got.digit) == ("ohm", value, digit)


def test_a_code_is_a_resistance_but_a_bare_multiplier_is_only_a_number() -> None:
    assert parse_quantity("4k7").unit == "ohm"
    assert parse_quantity("84R").unit == "ohm"
    assert parse_quantity("4.7k").unit == ""


def test_an_over_range_time_takes_the_unit_that_is_asked_for() -> None:
    assert parse_quantity("OL min", unit="s").unit == "s"


def test_case_tells_mega_from_milli() -> None:
    assert parse_quantity("1M", unit="ohm").value == 1e9 * parse_quantity("1m", unit="ohm").value


@pytest.mark.parametrize(
    "word", ["about 6 V", "~6 V", "\u22486 V", "ca 6 V", "ca. 6V", "approx. 6 V", "About 6 V"]
)
def test_about_leaves_a_whole_last_digit_or_a_tenth_open(word: str) -> None:
    got = parse_quantity(word, unit="V")
    assert (got.value, got.about, got.half_width) == (6.0, True, 1.0)
    assert parse_quantity("about 240 ohm").half_width == 24.0


@pytest.mark.parametrize(
    "mark",
    [
        "OL",
        "ol",
        "O.L.",
        "O.L",
        "0L",
        "0.L",
        "over-range",
        "over range",
        "open line",
        "OL kohm",
        "O.L M\u03a9",
    ],
)
def test_over_range_marks_are_infinite_and_have_no_width(mark: str) -> None:
    got = parse_quantity(mark, unit="ohm")
    assert (got.value, got.unit, got.half_width, got.over_range) == (math.inf, "ohm", 0.0, True)


# text, unit asked for, words of the message, words of the remedy
REFUSED = [
    ("o.2 V", "V", "has the letter o where a zero belongs", "Write 0.2 V"),
    ("1oo ohm", None, "has the letter o where a zero belongs", "Write 100 ohm"),
    ("12.O", "V", "has the letter o where a zero belongs", "Write 12.0"),
    ("O,2", None, "has the letter o where a zero belongs", "Write 0.2"),
    ("", "V", "no value", "12.4 V"),
    ("   ", None, "no value", "12.4 V"),
    ("5 K", None, "kelvin or kilo", "5k"),
    ("4.7K", "ohm", "kelvin or kilo", "4.7k"),
    ("12V 5A", None, "more than one number", "one value"),
    ("1e3", None, "exponent", "1k"),
    ("1.5E-3", "V", "exponent", "1k"),
    ("4,7k", "ohm", "decimal comma", "4.7k"),
    ("1,234.5", None, "has commas", "no thousands marks"),
    ("4,5..7,5 V", None, "has commas", "point"),
    ("4,5..12 V", None, "decimal comma", "4.5..12 V"),
    ("nan", "V", "no number", "12.4 V"),
    ("inf", "V", "no number", "OL"),
    ("-OL", "V", "no number", "OL"),
    ("open", "ohm", "no number", "OL"),
    ("1.", "ohm", "ends in a point", "OL"),
    ("9" * 41, "V", "longer than", "one value"),
    ("\u0663 V", "V", "digits other", "0 to 9"),
    ("\uff11\uff12 V", "V", "digits other", "0 to 9"),
    ("5\u00b2", None, "'^2'", "ohm"),
    ("84 ohm", "V", "a resistance (ohm), and a voltage (V)", "12.4 V"),
    ("4k7", "V", "a resistance (ohm), and a voltage (V)", "12.4 V"),
    ("OL kohm", "V", "a resistance (ohm), and a voltage (V)", "12.4 V"),
    ("5 V", "", "a voltage (V), and a plain number", "just the number"),
    ("2.4 m", "V", "a length (m), and a voltage (V)", "12.4 V"),
    ("5 m", "ohm", "a length (m), and a resistance (ohm)", "5 ohm"),
    ("5m", "s", "a length (m)", "5 s"),
    ("60 MA", "A", "milli or mega", "60mA"),
    ("1M", "V", "milli or mega", "1m"),
    ("10-140 ohm", "ohm", "without the two dots", "10..140 ohm"),
    ("10 to 140 ohm", "ohm", "without the two dots", "10..140 ohm"),
    ("4.5..12 V", "V", "is a range", "one value"),
    ("9 V \u00b1 2 %", "V", "tolerance", "out"),
    ("R47", "ohm", "starts with a letter", "0R47"),
    ("K1", None, "starts with a letter", "number first"),
    ("3 foo", "V", "'foo'", "V or mV or kV"),
    ("3 foo", "", "'foo'", "just the number"),
    ("5k", "degC", "'k'", "degC"),
    ("1 000", "ohm", "not one number", "5 ohm"),
]


@pytest.mark.parametrize(("text", "asked", "message", "remedy"), REFUSED)
def test_a_doubtful_text_is_refused_with_a_remedy(
    text: str, asked: str | None, message: str, remedy: str
) -> None:
    with pytest.raises(UnitError) as caught:
        parse_quantity(text, unit=asked)
    [problem] = caught.value.problems
    assert message in problem.message
    assert remedy in problem.remedy
    assert len(problem.value) <= MAX_TEXT


def test_a_form_may_allow_the_decimal_comma() -> None:
    assert parse_quantity("4,7 V", decimal_comma=True).value == 4.7
    assert parse_quantity("4.7 V", decimal_comma=True).value == 4.7
    with pytest.raises(UnitError, match="has commas"):
        parse_quantity("1.234,5 V", decimal_comma=True)


# text, unit asked for, value, low, high, unit: limits by hand
TOLERANCED = [
    ("9.0 V +-2 %", "V", 9.0, 8.82, 9.18, "V"),
    ("9.0 V +/- 2%", None, 9.0, 8.82, 9.18, "V"),
    ("9 V \u00b1 0.2 V", "V", 9.0, 8.8, 9.2, "V"),
    ("9 \u00b1 0.2 V", None, 9.0, 8.8, 9.2, "V"),
    ("9 V \u00b1 200 mV", None, 9.0, 8.8, 9.2, "V"),
    ("4.7 kohm \u00b1 0.2", "ohm", 4700.0, 4500.0, 4900.0, "ohm"),
    ("-20 C \u00b1 10 %", None, -20.0, -22.0, -18.0, "degC"),
    ("63 % \u00b1 2 %", "%", 63.0, 61.0, 65.0, "%"),
    ("4.5..12 V", "V", 8.25, 4.5, 12.0, "V"),
    ("2.8..3.2 ohm", None, 3.0, 2.8, 3.2, "ohm"),
    ("0.6 .. 3.1 V", None, 1.85, 0.6, 3.1, "V"),
    ("0.6\u20263.1 V", None, 1.85, 0.6, 3.1, "V"),
    ("4.5 V..12", "V", 8.25, 4.5, 12.0, "V"),
    ("800 ohm..1.2 kohm", None, 1000.0, 800.0, 1200.0, "ohm"),
    ("0.8..1.2k", "ohm", 1000.0, 800.0, 1200.0, "ohm"),
    ("4k7..5k6", None, 5150.0, 4700.0, 5600.0, "ohm"),
    ("about 6 V", None, 6.0, 5.0, 7.0, "V"),
]


@pytest.mark.parametrize(("text", "asked", "value", "low", "high", "unit"), TOLERANCED)
def test_tolerances_and_ranges(
    text: str, asked: str | None, value: float, low: float, high: float, unit: str
) -> None:
    got = parse_toleranced(text, unit=asked)
    assert (got.value, got.low, got.high) == pytest.approx((value, low, high), rel=1e-12)
    assert (got.unit, got.given) == (unit, True)
    assert parse_range(text, unit=asked) == (got.low, got.high)


def test_without_a_tolerance_none_is_invented() -> None:
    assert parse_toleranced("12.4 V") == Toleranced(12.4, "V", 12.4, 12.4, 0.1, given=False)


def test_the_finer_end_of_a_range_sets_the_digit() -> None:
    assert parse_toleranced("4.50..12 V").digit == 0.01


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("10-140 ohm", "without the two dots"),
        ("10\u2013140 ohm", "without the two dots"),
        ("1...5 V", "not a range"),
        ("1..2..3 V", "not a range"),
        ("..5 V", "not a range"),
        ("5..4 V", "low to high"),
        ("5..5 V", "low to high"),
        ("5 V..6 A", "two different units"),
        ("4..5k6", "leaves open which unit"),
        ("9 \u00b1 200 mV", "leaves open which unit"),
        ("about 4..5 V", "rough or over-range"),
        ("4 V..OL", "rough or over-range"),
        ("about 9 V \u00b1 2 %", "rough or over-range"),
        ("9 V \u00b1", "one tolerance"),
        ("9 V \u00b1 -1 V", "one tolerance"),
        ("9 V \u00b1 1 V \u00b1 2 %", "one tolerance"),
        ("9 V \u00b1 300 %", "above 100 %"),
        ("9 V \u00b1 2 A", "a current (A), and a voltage (V)"),
        ("x..5 V", "holds 'x'"),
        ("OL", "over-range mark"),
    ],
)
def test_a_doubtful_tolerance_is_refused(text: str, message: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_toleranced(text)
    [problem] = caught.value.problems
    assert message in problem.message
    assert problem.value == text


def test_a_range_must_have_two_ends() -> None:
    assert parse_range("-30..50 C") == (-30.0, 50.0)
    with pytest.raises(UnitError, match="single value"):
        parse_range("5 V")


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (4700, "ohm", "4.70 k\u03a9"),
        (84, "ohm", "84.0 \u03a9"),
        (999.9, "ohm", "1.00 k\u03a9"),
        (2.2e9, "ohm", "2200 M\u03a9"),
        (12.9, "V", "12.9 V"),
        (0.02, "V", "20.0 mV"),
        (-0.5, "V", "-500 mV"),
        (5e6, "V", "5000 kV"),
        (1e-5, "A", "10.0 \u00b5A"),
        (3e-8, "A", "0.0300 \u00b5A"),
        (0.75, "mm2", "0.750 mm\u00b2"),
        (0.035, "m", "0.0350 m"),
        (1234, "degC", "1230 \u00b0C"),
        (63, "%", "63.0 %"),
        (5, "min", "5.00 min"),
        (0, "V", "0 V"),
        (-0.0, "", "0"),
        (1e-12, "V", "0 V"),
        (math.inf, "ohm", "OL"),
        (-math.inf, "V", "-OL"),
        (math.nan, "V", "unknown"),
    ],
)
def test_values_are_printed_as_the_trade_writes_them(value: float, unit: str, shown: str) -> None:
    assert format_quantity(value, unit) == shown


def test_the_number_of_digits_can_be_chosen() -> None:
    assert format_quantity(4712, "ohm", digits=4) == "4.712 k\u03a9"
    assert format_quantity(4712, "ohm", digits=1) == "5 k\u03a9"


def test_an_unknown_unit_is_a_mistake_of_the_program() -> None:
    with pytest.raises(ValueError, match="furlong"):
        format_quantity(1.0, "furlong")
    with pytest.raises(ValueError, match="furlong"):
        parse_quantity("1", unit="furlong")


# Pieces that meet in real texts, so that the search comes near to every branch.
PIECES = (
    "0 4 7 12 . .. , - + \u00b1 +- e3 k K M m u \u00b5 R V A ohm \u03a9 % C s min mm2 \u00b2 about ~ ca. OL "
    "to x \u0663"
)
NEAR = st.lists(st.sampled_from([*PIECES.split(), " ", "\x00"]), max_size=8).map("".join)


@given(text=st.text(max_size=60) | NEAR, unit=st.sampled_from([None, *KINDS]), comma=st.booleans())
@example(text="\ud800", unit=None, comma=False)
def test_any_text_gives_a_value_or_a_unit_error(text: str, unit: str | None, comma: bool) -> None:
    try:
        got = parse_quantity(text, unit=unit, decimal_comma=comma)
    except UnitError as error:
        assert error.problems[0].message
        assert error.problems[0].remedy
    else:
        assert got.over_range == math.isinf(got.value)
        assert got.half_width >= 0
        assert unit is None or got.unit == unit
    try:
        limits = parse_toleranced(text, unit=unit)
    except UnitError as error:
        assert error.problems[0].remedy
    else:
        assert limits.low <= limits.value <= limits.high
        assert limits.given or limits.low == limits.high


@given(
    size=st.floats(min_value=1e-8, max_value=1e11),
    sign=st.sampled_from([1, -1]),
    unit=st.sampled_from(UNITS),
    digits=st.integers(3, 6),
)
def test_what_is_printed_reads_back_within_half_a_percent(
    size: float, sign: int, unit: str, digits: int
) -> None:
    shown = format_quantity(sign * size, unit, digits=digits)
    assert "e" not in shown.lower().replace("deg", "")
    got = parse_quantity(shown, unit=unit)
    assert got.unit == unit
    assert got.value == pytest.approx(sign * size, rel=0.005)
    assert got == parse_quantity(shown)


@given(whole=st.integers(0, 9999), part=st.integers(0, 99))
def test_the_last_written_digit_is_what_the_text_shows(whole: int, part: int) -> None:
    got = parse_quantity(f"{whole}.{part:02d} V")
    assert got.digit == 0.01
    assert got.value == pytest.approx((100 * whole + part) / 100, rel=1e-15)

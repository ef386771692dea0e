"""Claims and sheets whose numbers cannot be so. Sums stand beside each; the sheets are invented."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import backprobe as bp
from backprobe.workbench.claims import ClaimError, parse_claim
from backprobe.workbench.finding import Finding

WRONG = [
    ("68 F is 30 C", "20.0 C"),  # (68 - 32) x 5/9
    ("27 F warmer is 27 C warmer", "15.0 C"),  # 27 x 5/9
    ("5 V and 2 A trip below 40 ohm", "2.50 Ω"),  # 5 / 2
    ("0.3 A drain flattened 60 Ah in 2 months", "8.3 days"),  # 60 / 0.3 / 24
    ("5 % per 20 C", "7.9 %"),  # 0.393 x 20
    ("limits 0.9 V to 0.4 V", "0.9 is above 0.4"),
    ("nominal 7 V, limits 7.5 to 8 V", "7 V beside"),
    ("bands 0..0.8 V, 0.7..3 V", "0.8"),
    ("a 10 A fuse opens in 4 s at 9.8 A", "98 %"),  # 9.8 / 10
    ("5 A fuse, 12 V on a coil of 1.2 ohm", "200 %"),  # 12 / 1.2 / 5
    ("14 AWG is 4 mm2", "2.08 mm2"),
    ("12 V, 30 W lamp draws 5 A", "60.0 W"),  # 12 x 5
    ("12 V, 8 mA, 1.5 ohm", "1.50 kΩ"),  # 12 / 0.008
    ("3 m of 1 mm2 has 4 ohm", "58.5 mΩ"),  # 3 x 19.5e-3
    ("2.2 kohm is 220 ohm", "2200"),
]
HOLDS = [
    "50 F is 10 C",
    "18 F warmer is 10 C warmer",
    "4 % per 10 C",
    "6 V and 2 A make 3 ohm",
    "0.05 A drain takes 60 Ah in 50 days",
    "nominal 7.8 V, limits 7.5 to 8 V",
    "bands 0..0.8 V, 0.8..3 V",
    "a 10 A fuse opens in 2 s at 22 A",
    "14 AWG is 2.1 mm2",
    "24 V, 12 W, 0.5 A",
    "4 m of 1.5 mm2 at 10 A loses 0.53 V",
    "0.1 kohm is 100 ohm",
]


@pytest.mark.parametrize(("text", "sum_"), WRONG)
def test_wrong_claims_show_their_sum(text: str, sum_: str) -> None:
    found = bp.sanity(text)
    assert any(f.wrong for f in found), found
    assert any(sum_ in f"{f.arithmetic} {f.right}" for f in found if f.wrong), found


@pytest.mark.parametrize("text", HOLDS)
def test_right_claims_hold(text: str) -> None:
    found = bp.sanity(text)
    assert found
    assert all(f.holds and not f.wrong for f in found), found


def test_a_lost_prefix_is_named() -> None:
    (finding,) = bp.sanity("12 V, 8 mA, 1.5 ohm")
    assert "prefix" in finding.right


def test_a_gap_between_bands_is_worth_a_look_only() -> None:
    (finding,) = bp.sanity("bands 0..1 V, 2..3 V")
    assert (finding.wrong, finding.holds) == (False, False)


@pytest.mark.parametrize(
    ("text", "sum_"),
    [
        ("0.3 A drain on 60 Ah", "8.3 days"),  # 60 / 0.3 / 24
        ("60 Ah flat in 50 days", "50.0 mA"),  # 60 / 1200 h
        ("2 joints lose 0.6 V at 3 A", "200 mΩ"),  # 0.6 / 3
    ],
)
def test_two_amounts_tell_the_third(text: str, sum_: str) -> None:
    (finding,) = bp.sanity(text)
    assert sum_ in finding.arithmetic
    assert not finding.wrong


def test_claims_know_their_lines_and_skip_comments() -> None:
    found = bp.sanity("# from the owner\n\n68 F is 30 C # he says\n4 % per 10 C\n")
    assert [(f.line, f.wrong) for f in found] == [(3, True), (4, False)]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("the gate is shut", "no number"),
        ("12 is 5 V", "without a unit"),
        ("5 V is enough", "no rule joins"),
        ("3 A at 0.4 V", "no rule joins"),
        ("5 xx is 3 V", "no unit here"),
        ("5 V and " + "more " * 90, "longer than"),
    ],
)
def test_what_is_no_claim_is_refused_with_its_line(text: str, message: str) -> None:
    with pytest.raises(ClaimError, match=message) as caught:
        bp.sanity(f"4 % per 10 C\n{text}\n", file="claims.txt")
    assert str(caught.value).startswith("claims.txt:2:")


def test_names_of_parts_are_no_amounts() -> None:
    claim = parse_claim("fuse F4 carries 12 A at C2-3, 3 joints lose 0.4 V")
    assert [(a.value, a.unit) for a in claim.amounts] == [(12, "A"), (0.4, "V")]


WORDS = [word for text, _ in WRONG for word in text.split()]


@settings(max_examples=300)
@given(
    st.text(max_size=60) | st.lists(st.sampled_from([w for t, _ in WRONG for w in t.split()])).map(" ".join)
)
def test_any_line_is_answered_or_refused_in_words(text: str) -> None:
    try:
        for finding in bp.sanity(text):
            assert finding.arithmetic
    except ClaimError as error:
        assert error.problems


# --- sheets -----------------------------------------------------------------------------------------

SHEET = """\
sheet: Pole driver, bar circuit
system: 12 V
controls: {key: [off, on], bar: [open, shut]}
runs:
  power: [battery+, fuse F1 15 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, frame, strap, battery-]
  feed: [controller.feed, C2-1, bar switch, C2-2, controller.bar input]
  valve: [controller.valve output, wire 3 m 1.5 mm2 RD, coil Y1, frame]
  relay: [key switch, relay coil K1 92 ohm, frame]
  horn: [battery+, fuse F2 10 A, relay contact K1, coil Y2 5.5 ohm, frame]
  beam: [battery+, fuse F3 10 A, lamp H1, frame]
parts:
  coil Y1: {ohms: 7.4 ohm, works above: 7 V}
  lamp H1: {watts: 21 W}
  relay K1: {pull-in: 7 V, drop-out: 2 V}
  controller:
    feed: {volts: 5 V, limit: 80 mA}
    bar input: {pull-down: 22 kohm, bands: {0..1 V: open, 2.5..5.5 V: shut}}
functions:
  drive: {releases when: bar input is shut, drives: valve output, guard: bar is shut}
"""
SLIPS = [
    ("7.4 ohm", "7.4 kohm", "parts.coil Y1.ohms", 13, "7.40 Ω", True),
    ("92 ohm", "92 kohm", "parts.relay K1.coil", 15, "92.0 Ω", True),
    ("coil Y2 5.5 ohm", "coil Y2 0.9 ohm", "parts.fuse F2", 10, "10.0 A", True),
    ("works above: 7 V", "works above: 17 V", "parts.coil Y1.works above", 13, "17.0 V", True),
    ("watts: 21 W", "watts: 21 W, amps: 6 A", "parts.lamp H1.amps", 14, "72.0 W", True),
    ("drop-out: 2 V", "drop-out: 8 V", "parts.relay K1.drop-out", 15, "8.00 V", True),
    ("limit: 80 mA", "limit: 80 A", "parts.controller.feed.limit", 17, "80.0 mA", True),
    ("22 kohm", "22 ohm", "parts.controller.bar input.pull-down", 18, "22.0 kΩ", True),
    ("2.5..5.5 V: shut", "25..30 V: shut", "parts.controller.bar input.bands", 18, "25.0 V", True),
    ("2.5..5.5 V: shut", "1.05..5.5 V: shut", "parts.controller.bar input.bands", 18, "50.0 mV", False),
    ("1.5 mm2", "14 mm2", "parts.wire controller.valve output to coil Y1.size", 8, "2.08 mm2", True),
    ("wire 3 m", "wire 300 m", "parts.wire controller.valve output to coil Y1.length", 8, "0.3 m", False),
    ("system: 12 V", "system: 12 V\ntemperature: 88 C", "temperature", 3, "31.1 C", False),
]


def found_in(text: str) -> tuple[Finding, ...]:
    return bp.sanity(bp.parse_sheet(text))


def test_a_sound_sheet_has_no_finding() -> None:
    assert found_in(SHEET) == ()


@pytest.mark.parametrize(("old", "new", "field", "line", "sum_", "wrong"), SLIPS, ids=[s[1] for s in SLIPS])
def test_a_slip_is_found_with_line_field_and_sum(
    old: str, new: str, field: str, line: int, sum_: str, wrong: bool
) -> None:
    assert SHEET.count(old) == 1
    found = found_in(SHEET.replace(old, new))
    hits = [f for f in found if f.field.startswith(field)]
    assert hits, found
    assert hits[0].line == line
    assert hits[0].wrong is wrong
    assert sum_ in f"{hits[0].arithmetic} {hits[0].right}"


def test_fellows_tell_a_thousandfold_slip_apart() -> None:
    values = ("1 kohm", "1.2 kohm", "1 ohm")
    extra = "".join(f"  r{i}: [battery+, resistor R{i} {v}, frame]\n" for i, v in enumerate(values))
    (finding,) = found_in(SHEET.replace("parts:\n", f"{extra}parts:\n", 1))
    assert "R2" in finding.field
    assert not finding.wrong
    assert "1000 to 1" in finding.right


def test_a_thin_wire_behind_a_large_fuse_is_worth_a_look() -> None:
    text = SHEET.replace("relay contact K1, coil", "relay contact K1, wire 1 m 0.5 mm2 BU, coil")
    text = text.replace("F2 10 A", "F2 30 A")
    (finding,) = found_in(text)
    assert "0.5 mm2" in finding.value
    assert "30.0 A" in finding.right


SENSED = """\
sheet: Pole driver, mast sensor
system: 12 V
controls: {key: [off, on]}
runs:
  power: [battery+, fuse F1 15 A, key switch, box.battery]
  ground: [box.ground, frame, strap, battery-]
  feed: [box.feed, C1-1, mast sensor.supply]
  back: [mast sensor.ground, C1-2, box.sensor ground]
  out: [mast sensor.output, C1-3, box.mast input]
parts:
  battery: {volts: 12.4 V}
  box:
    kind: controller
    least supply: 8 V
    feed: {volts: 5 V +-2 %, limit: 80 mA}
    mast input: {pull-down: 22 kohm, bands: {0..1 V: low, 2..4 V: high}}
  mast sensor: {kind: ratiometric sensor, supply: 4.5..16 V, draw: 9 mA, output: {key on: 55 %}}
"""


@pytest.mark.parametrize(
    ("old", "new", "field", "line", "sum_"),
    [
        ("4.5..16 V", "7..16 V", "parts.mast sensor.supply", 17, "never wake"),
        ("4.5..16 V", "2..4 V", "parts.mast sensor.supply", 17, "overfed"),
        ("9 mA", "9 A", "parts.mast sensor.draw", 17, "9.00 mA"),
        ("least supply: 8 V", "least supply: 11 V", "parts.box.least supply", 14, "ISO 16750-2"),
        ("12.4 V", "24.8 V", "parts.battery.volts", 11, "24.8 V"),
    ],
)
def test_supplies_that_do_not_go_together(old: str, new: str, field: str, line: int, sum_: str) -> None:
    assert found_in(SENSED) == ()
    hits = [f for f in found_in(SENSED.replace(old, new)) if f.field == field]
    assert hits
    assert hits[0].line == line
    assert sum_ in f"{hits[0].arithmetic} {hits[0].right}"


def test_ohms_that_its_own_length_and_size_deny() -> None:
    text = SHEET.replace("wire 3 m 1.5 mm2 RD", "wire W1").replace(
        "parts:\n", "parts:\n  wire W1: {length: 3 m, size: 1.5 mm2, ohms: 1.2 ohm}\n", 1
    )
    # 3 m x 13.3 ohm/km = 39.9 mohm.
    hits = [f for f in found_in(text) if f.field == "parts.wire W1.ohms"]
    assert hits
    assert "39.9 mΩ" in hits[0].arithmetic


def test_a_warm_sheet_shows_values_as_they_were_written() -> None:
    text = SHEET.replace("system: 12 V", "system: 12 V\ntemperature: 40 C").replace("7.4 ohm", "7.4 kohm")
    assert any(f.value == "7.40 kΩ" for f in found_in(text))

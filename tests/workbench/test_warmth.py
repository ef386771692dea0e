"""A sheet's temperature: copper moves, other things stay. Ratios are written out: (234.5+T)/254.5."""

from __future__ import annotations

from dataclasses import replace

import pytest

import backprobe as bp
from backprobe.errors import SheetError, UnitError
from backprobe.sheet.anatomy import Value
from backprobe.sheet.cold_battery import cold_battery
from backprobe.sheet.warmth import parse_temperature
from backprobe.workbench.temperature import copper_reading

SHEET = """\
sheet: Leaf trimmer, knife circuit
system: 12 V
controls: {key: [off, on]}
runs:
  main: [battery+, fuse F1 7.5 A, key switch, wire 4 m 1 mm2 RD, relay coil K1 86 ohm, frame]
  work: [battery+, fuse F2 15 A, relay contact K1, coil Y1, frame]
  lamp: [battery+, resistor R1 47 ohm, frame]
parts:
  coil Y1: {ohms: {range: 6.1..6.9 ohm, at: 25 C, origin: published, title: knife leaflet}}
"""
FROST = "system: 12 V\ntemperature: -14 C +-0 C\n"


def ohms(text: str, part: str, field: str = "ohms") -> Value:
    return bp.parse_sheet(text).parts[part].values[field]


def frosty(extra: str = "") -> str:
    return SHEET.replace("system: 12 V\n", FROST) + extra


def test_without_a_temperature_only_a_value_that_names_one_moves() -> None:
    assert ohms(SHEET, "relay K1", "coil").nominal == 86
    # 25 C to 20 C: 254.5 / 259.5; its width grows by the usual 5..35 C.
    value = ohms(SHEET, "coil Y1")
    assert value.nominal == pytest.approx(6.5 * 254.5 / 259.5)
    assert value.low == pytest.approx(6.1 * (234.5 + 5) / 259.5)
    assert value.high == pytest.approx(6.9 * (234.5 + 35) / 259.5)


def test_frost_moves_coils_relay_coils_and_wires_and_nothing_else() -> None:
    cold = (234.5 - 14) / 254.5
    assert ohms(frosty(), "relay K1", "coil").nominal == pytest.approx(86 * cold)
    assert ohms(frosty(), "coil Y1").nominal == pytest.approx(6.5 * (234.5 - 14) / 259.5)
    wire = next(n for n, p in bp.parse_sheet(SHEET).parts.items() if p.kind == "wire" and not p.implied)
    assert ohms(frosty(), wire).nominal == pytest.approx(ohms(SHEET, wire).nominal * cold)
    assert ohms(frosty(), "resistor R1").nominal == 47
    assert ohms(frosty(), "relay K1", "contact") == ohms(SHEET, "relay K1", "contact")


def test_the_convention_and_both_temperatures_stand_in_the_origin() -> None:
    origin = str(ohms(frosty(), "coil Y1").origin)
    assert "published" in origin
    assert "from 25 C to -14 C" in origin
    assert "(234.5+T)/254.5" in origin


def test_a_temperature_without_a_width_gets_one() -> None:
    text = SHEET.replace("system: 12 V\n", "system: 12 V\ntemperature: -14 C\n")
    narrow, wide = ohms(frosty(), "relay K1", "coil"), ohms(text, "relay K1", "coil")
    assert wide.nominal == pytest.approx(narrow.nominal)
    assert wide.low < narrow.low < narrow.high < wide.high


def test_a_part_with_its_own_temperature_keeps_it() -> None:
    text = frosty("  relay K1: {temperature: 60 C +-0 C}\n")
    assert ohms(text, "relay K1", "coil").nominal == pytest.approx(86 * (234.5 + 60) / 254.5)
    assert bp.at_temperature(bp.parse_sheet(text), "-30 C").parts["relay K1"].values["coil"].nominal == (
        pytest.approx(86 * (234.5 + 60) / 254.5)
    )


def test_a_sheet_at_another_temperature_and_back() -> None:
    sheet = bp.parse_sheet(frosty())
    warm = bp.at_temperature(sheet, "20 C +-0 C")
    assert warm.parts["relay K1"].values["coil"].nominal == pytest.approx(86)
    assert bp.at_temperature(warm, "-14 C +-0 C").parts == sheet.parts
    sketched = bp.sketch("battery+ > fuse F1 5 A > key > relay coil K1 90 ohm > frame")
    cold = bp.at_temperature(sketched, "-14 C")
    assert cold.parts["relay K1"].values["coil"].nominal == pytest.approx(90 * 220.5 / 254.5)


def test_a_sheet_without_a_text_cannot_be_read_again() -> None:
    bare = replace(bp.parse_sheet(SHEET), text="")
    with pytest.raises(SheetError, match="no text"):
        bp.at_temperature(bare, "-14 C")
    assert bp.sanity(bare) == ()


def test_the_coil_reads_what_the_frost_leaves_of_it() -> None:
    # The circuit agrees with the arithmetic: the coil alone, unplugged at both ends, is 86 ohm x 220.5/254.5.
    cold = bp.parse_sheet(frosty())
    values = bp.Engine(cold).circuit
    index = values.parameter_of["relay K1.winding ohms"]
    assert values.nominal[index] == pytest.approx(86 * 220.5 / 254.5)


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("system: 12 V", "system: 12 V\ntemperature: cold", "temperature"),
        ("system: 12 V", "system: 12 V\ntemperature: 300 C", "temperature"),
        ("system: 12 V", "system: 12 V\ntemperature: 14 F", "temperature"),
        ("system: 12 V", "system: 12 V\ntemperature: [1 C]", "temperature"),
        ("at: 25 C", "at: 25 V", "parts.coil Y1.ohms.at"),
        ("at: 25 C", "at: 999 C", "parts.coil Y1.ohms.at"),
        (
            "parts:\n",
            "parts:\n  resistor R1: {ohms: {value: 47 ohm, at: 25 C}}\n",
            "parts.resistor R1.ohms.at",
        ),
        ("parts:\n", "parts:\n  resistor R1: {temperature: 25 C}\n", "parts.resistor R1.temperature"),
        ("parts:\n", "parts:\n  fuse F1: {rating: {value: 7.5 A, at: 25 C}}\n", "parts.fuse F1.rating.at"),
    ],
)
def test_what_is_no_temperature_is_refused_once_with_its_line(old: str, new: str, field: str) -> None:
    with pytest.raises(SheetError) as caught:
        bp.parse_sheet(SHEET.replace(old, new, 1), file="trimmer.yaml")
    problems = [p for p in caught.value.problems if p.field == field]
    assert len(problems) == 1, caught.value
    assert problems[0].line > 1
    assert problems[0].message
    assert problems[0].remedy


def test_temperatures_are_read_as_people_write_them() -> None:
    assert parse_temperature("-12 C").low == -15
    assert (parse_temperature("-20..-5 C").low, parse_temperature("-20..-5 C").high) == (-20, -5)
    with pytest.raises(UnitError, match="Write degrees Celsius"):
        parse_temperature("54 F")


def test_leads_come_off_first_and_may_not_exceed_the_reading() -> None:
    # (6.4 - 0.3) x 254.5 / 224.5 at -10 C.
    reading = copper_reading(6.4, -10, leads=0.3)
    assert reading.ohms == pytest.approx(6.1 * 254.5 / 224.5)
    assert reading.good is None
    with pytest.raises(UnitError, match="leaves nothing"):
        copper_reading(0.3, 20, leads=0.4)
    with pytest.raises(UnitError, match="does not run from low to high"):
        copper_reading(6.4, 20, window=(7, 6))


def test_cold_takes_cranking_before_capacity_and_hardly_any_volts() -> None:
    # Common practice, no source: about 40 % of the cranking current is left at -18 C.
    cold, mild = cold_battery(-18), cold_battery(27)
    assert cold.cranking == pytest.approx(0.40)
    assert cold.cranking < cold.capacity < 1
    assert cold.resistance == pytest.approx(2.5)
    assert -0.1 < cold.volts_change < 0
    assert (mild.cranking, mild.capacity, mild.volts_change) == (1, 1, 0)
    steps = [cold_battery(t).cranking for t in range(-40, 61, 5)]
    assert steps == sorted(steps)
    with pytest.raises(UnitError, match="battery"):
        cold_battery(-80)


def test_a_sheet_in_the_cold_has_a_cold_battery() -> None:
    """At -18 C it gives 0.4 of its cranking current: 1/0.4 = 2.5 times the resistance; common practice."""
    text = "sheet: Starter\n{0}runs:\n  a: [battery+, fuse F1 10 A, seat switch, coil Y1 4 ohm, frame]\n{1}"
    mild, cold = (
        bp.parse_sheet(text.format(t, "")).parts["battery"].values for t in ("", "temperature: -18 C\n")
    )
    assert cold["resistance"].nominal == pytest.approx(2.5 * mild["resistance"].nominal)
    assert cold["resistance"].origin.kind == "default"
    # Six cells at 0.2 mV/K over 45 K: 54 mV less (from memory).
    assert mild["volts"].nominal - cold["volts"].nominal == pytest.approx(0.054, abs=1e-6)
    own = "parts: {battery: {resistance: {value: 11 mohm, origin: measured}}}\n"
    kept = bp.parse_sheet(text.format("temperature: -18 C\n", own)).parts["battery"].values
    assert kept["resistance"].nominal == pytest.approx(0.011)

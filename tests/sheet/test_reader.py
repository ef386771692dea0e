"""The reader: each slip gives exactly one problem that names file, line, field, value and remedy.

The sheet is invented; what a message must name is the rule of the house, not of a source.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from backprobe.circuit.compiled import compile_sheet
from backprobe.errors import Problem, SheetError
from backprobe.sheet.anatomy import Band
from backprobe.sheet.model import State
from backprobe.sheet.reader import load_sheet, parse_sheet
from tests.sheet.slips import SLIPS, Slip

SHEET = """\
sheet: Vine tipper, gate circuit
system: 12 V
controls:
  key: [off, on]
  gate: [shut, open]
  arm: [released, pressed]
runs:
  power: [battery+, fuse F3 10 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, wire 0.8 m 2.5 mm2 BK, ring G4, frame, strap, battery-]
  feed: [controller.feed, C2-1, gate sensor.supply]
  signal: [gate sensor.output, C2-3, controller.gate input]
  return: [gate sensor.ground, C2-2, controller.sensor ground]
  valve: [controller.valve output, C3-1, coil Y2 8.8 ohm, C3-2, frame]
parts:
  gate sensor:
    kind: ratiometric sensor
    output: {gate shut: 64 %, gate open: 21 %}
    supply: {value: 9.0 V, range: 4.5..14 V, origin: published, title: part leaflet}
  controller:
    feed: {volts: 9.0 V +-2 %, limit: 60 mA}
    gate input: {pull-down: 47 kohm, bands: {0..0.6 V: code low, 0.7..3.1 V: open, 4.9..6.6 V: shut}}
functions:
  tipper: {releases when: gate input is shut and arm is pressed, drives: valve output, guard: gate is shut}
"""


def changed(old: str, new: str) -> str:
    """The sheet with one place changed; a place that is not there is a slip of the test."""
    assert SHEET.count(old) == 1, old
    return SHEET.replace(old, new)


def refusal(text: str) -> Problem:
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, file="tipper.yaml")
    (problem,) = caught.value.problems
    return problem


# --- what is read -------------------------------------------------------------------------


def test_a_sheet_becomes_parts_runs_and_functions() -> None:
    sheet = parse_sheet(SHEET, file="tipper.yaml")
    assert (sheet.name, sheet.system_volts, sheet.file) == ("Vine tipper, gate circuit", 12.0, "tipper.yaml")
    assert list(sheet.controls) == ["key", "gate", "arm"]
    assert sheet.parts["fuse F3"].values["rating"].nominal == 10.0
    assert sheet.parts["coil Y2"].values["ohms"].nominal == 8.8
    sensor = sheet.parts["gate sensor"]
    assert sensor.kind == "ratiometric sensor"
    assert sensor.levels[State("gate", "shut")].nominal == pytest.approx(0.64)
    assert (sensor.values["supply"].low, sensor.values["supply"].high) == (4.5, 14.0)
    assert str(sensor.values["supply"].origin) == "published (part leaflet)"
    assert sheet.parts["controller"].pins["gate input"].bands == (
        Band(0.0, 0.6, "code low"),
        Band(0.7, 3.1, "open"),
        Band(4.9, 6.6, "shut"),
    )
    function = sheet.functions["tipper"]
    assert (function.loads, function.drives, function.guard) == (
        ("coil Y2",),
        ("valve output",),
        "gate is shut",
    )
    assert sheet.connectors["C2"].part == "gate sensor"


def test_every_part_remembers_its_line() -> None:
    sheet = parse_sheet(SHEET)
    assert sheet.parts["gate sensor"].line == 15
    assert sheet.controls["gate"].line == 5
    assert sheet.runs["valve"].line == 13
    assert sheet.functions["tipper"].line == 23


def test_what_is_not_written_is_filled_in_and_says_so() -> None:
    sheet = parse_sheet(SHEET)
    draw = sheet.parts["gate sensor"].values["draw"]
    assert draw.origin.kind == "default" and draw.origin.note
    assert draw.low < draw.nominal < draw.high
    assert sheet.parts["coil Y2"].values["ohms"].origin.kind == "assumed"


def test_words_of_switches_are_words_and_no_truth_values() -> None:
    text = changed("[off, on]", "[off, on, no, yes]").replace("arm: [released, pressed]", "arm: [no, yes]")
    sheet = parse_sheet(text.replace("arm is pressed", "arm is yes"))
    assert sheet.controls["key"].positions == ("off", "on", "no", "yes")
    assert sheet.controls["arm"].positions == ("no", "yes")


def test_a_terminal_may_be_named_with_its_kind_or_without() -> None:
    for name in ("coil Y2.1", "Y2.1"):
        sheet = parse_sheet(SHEET.replace("parts:\n", f"  lamp: [{name}, lamp H1 5 W, frame]\nparts:\n"))
        assert sheet.runs["lamp"].items[0].enter == "coil Y2.1"
        assert not [p for p in sheet.parts if "." in p]


@pytest.mark.parametrize(
    ("words", "ends"),
    [
        ("relay contact K1", ("30", "87")),
        ("relay resting contact K1", ("30", "87a")),
        ("K1 resting contact", ("30", "87a")),
        ("relay coil K1", ("86", "85")),
    ],
)
def test_each_way_through_a_relay_is_told_apart(words: str, ends: tuple[str, str]) -> None:
    text = SHEET.replace(
        "parts:\n", f"  one: [battery+, {words}, frame]\n  two: [K1.86, K1.85]\nparts:\n  relay K1: {{}}\n"
    )
    (item,) = [i for i in parse_sheet(text).runs["one"].items if i.part == "relay K1"]
    assert (item.enter, item.leave) == (f"relay K1.{ends[0]}", f"relay K1.{ends[1]}")


def test_a_value_with_its_letter_as_the_point_is_read_in_a_run() -> None:
    sheet = parse_sheet(changed("coil Y2 8.8 ohm", "coil Y2 8R8"))
    assert sheet.parts["coil Y2"].values["ohms"].nominal == 8.8


def test_a_file_is_read_and_named(tmp_path: Path) -> None:
    path = tmp_path / "tipper.yaml"
    path.write_text(SHEET, encoding="utf-8")
    assert load_sheet(path).name == "Vine tipper, gate circuit"
    with pytest.raises(SheetError) as caught:
        load_sheet(tmp_path / "lost.yaml")
    (problem,) = caught.value.problems
    assert "lost.yaml" in str(problem) and "no such file" in str(problem).lower()
    path.write_bytes(b"sheet: caf\xe9")
    with pytest.raises(SheetError, match="is not UTF-8"):
        load_sheet(path)


# --- what is refused ----------------------------------------------------------------------


@pytest.mark.parametrize("slip", SLIPS, ids=lambda slip: f"{slip.field} {slip.new!r}")
def test_one_slip_gives_one_problem(slip: Slip) -> None:
    problem = refusal(changed(slip.old, slip.new))
    assert (problem.file, problem.line, problem.field) == ("tipper.yaml", slip.line, slip.field)
    assert problem.value.startswith(slip.value)
    assert slip.message in problem.message
    assert slip.remedy in problem.remedy
    # What the mechanic sees is one line with all of it.
    shown = str(problem)
    assert shown.startswith(f"tipper.yaml:{slip.line}: ")
    assert "\n" not in shown
    assert problem.remedy in shown


def test_a_controller_whose_ground_leads_nowhere_is_refused() -> None:
    # Its sensor ground alone is on a run, and that run ends at the sensor.
    text = changed(
        "[controller.ground, C1-2, wire 0.8 m 2.5 mm2 BK, ring G4, frame, strap, battery-]",
        "[frame, strap, battery-]",
    )
    problem = refusal(text)
    assert (problem.line, problem.field, problem.value) == (19, "parts.controller", "controller")
    assert "floating ground" in problem.message
    assert "[controller.ground, frame]" in problem.remedy


def test_a_frame_that_is_not_joined_to_the_battery_grounds_nothing() -> None:
    problem = refusal(
        changed("ring G4, frame, strap, battery-]", "ring G4, frame]").replace(
            "C3-2, frame]", "C3-2, battery-]"
        )
    )
    assert problem.field == "parts.controller"
    assert "floating ground" in problem.message


@pytest.mark.parametrize(
    ("runs", "message"),
    [("", "has no run"), ("runs: {}\n", "has no run"), ("runs:\n", "is not a set of names")],
    ids=["missing", "empty", "blank"],
)
def test_a_sheet_without_runs_is_refused(runs: str, message: str) -> None:
    start, end = SHEET.index("runs:"), SHEET.index("parts:")
    problem = refusal(SHEET[:start] + runs + SHEET[end:])
    assert (problem.field, problem.file) == ("runs", "tipper.yaml")
    assert message in problem.message
    assert "runs:" in problem.remedy
    assert problem.line in {1, 7}


def test_several_slips_are_all_told_in_one_pass_in_the_order_of_the_file() -> None:
    text = (
        changed("limit: 60 mA", "limit: 60 V")
        .replace("C3-1, coil", "gadget, coil")
        .replace("12 V\n", "12 A\n")
    )
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, file="tipper.yaml")
    assert [p.line for p in caught.value.problems] == [2, 13, 20]


def test_the_sheet_of_these_tests_compiles() -> None:
    assert compile_sheet(parse_sheet(SHEET)).node("gate sensor.supply") >= 0

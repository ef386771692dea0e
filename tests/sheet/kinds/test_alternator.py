"""Alternator: beside a battery, and as the only source of a machine. Ohm's law by hand."""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.circuit.compiled import DATUM
from tests.sheet.kinds.faulty import amps, circuit_of, solved, volts

CHARGED = """
sheet: Charging
controls: {engine: [stands, runs]}
bodies: [engine]
runs:
  charge: [alternator.stud, wire 1 m 10 mm2, battery+]
  main: [battery+, resistor R1 4 ohm, frame]
  engine strap: [engine, strap E1, frame]
parts:
  battery: {volts: 12.6 V, resistance: 20 mohm}
  alternator: {volts: 14.2 V, resistance: 10 mohm, running: {engine: runs}}
"""


def supply(fault: str = "", level: int = -1, engine: str = "runs") -> float:
    return volts(solved(circuit_of(CHARGED), {"engine": engine}, fault, level=level), "battery.+")


def test_it_charges_while_the_engine_runs() -> None:
    # Two sources in parallel, 12.6 V behind 21 mohm and 14.2 V behind about 16: between the two.
    assert 13.2 < supply() < 14.2
    assert supply(engine="stands") < 12.6


def test_it_is_bolted_to_the_engine_where_there_is_one() -> None:
    sheet = bp.parse_sheet(CHARGED)
    assert [i.enter for i in sheet.runs["alternator mount"].items] == ["alternator.case", "engine"]
    plain = bp.parse_sheet(
        CHARGED.replace("bodies: [engine]\n", "")
        .replace("[engine, strap E1, frame]", "[S1, frame]")
        .replace("R1 4 ohm, frame", "R1 4 ohm, splice S1, frame")
    )
    assert [i.enter for i in plain.runs["alternator mount"].items] == ["alternator.case", "frame"]


def test_not_charging_leaves_the_battery_alone() -> None:
    assert supply("alternator: gives nothing") == pytest.approx(supply(engine="stands"), abs=1e-3)


def test_a_high_regulator_overcharges() -> None:
    # At its highest severity, 18 V: (12.6/0.021 + 18/0.016) / (1/0.021 + 1/0.016) is about 15.7 V.
    assert supply("alternator: regulator high") > 15.0


def test_a_battery_does_not_run_backwards_through_the_rectifier() -> None:
    # 12.4 V of a weak alternator stand below a 12.6 V battery: no current either way.
    solution = solved(circuit_of(CHARGED), {"engine": "runs"}, "alternator: charges low")
    assert amps(solution, "alternator.winding") >= -1e-6


def test_an_open_diode_of_the_rectifier_charges_less() -> None:
    assert supply(engine="stands") < supply("alternator: rectifier diode open") < supply() - 0.2


def test_a_leaking_diode_drains_the_battery_while_the_engine_stands() -> None:
    # Level 2 is 30 ohm: 12.6 V / 30 ohm = 0.42 A, day and night.
    text = CHARGED.replace("R1 4 ohm", "R1 100 kohm")
    solution = solved(circuit_of(text), {"engine": "stands"}, "alternator: rectifier diode leaks", level=2)
    assert amps(solution, "alternator.rectifier leak") == pytest.approx(0.42, rel=0.01)


ALONE = """
sheet: Mower without a battery
controls: {seat: [empty, seated]}
runs:
  main: [alternator.stud, fuse F1 10 A, seat switch, coil Y1 4 ohm, frame]
parts:
  alternator: {volts: 14 V, resistance: 0.2 ohm}
"""
JOINTS = 0.012 + 4 * 0.03 + 0.02 + 0.003 + 0.002
"""Fuse and holder, four implied wires, the seat's contact, the lug and the rectifier [ohm]."""


def test_a_machine_without_a_battery_has_none() -> None:
    circuit = circuit_of(ALONE)
    assert "battery" not in circuit.sheet.parts
    assert not [m.name for m in circuit.modes if m.part.startswith("battery")]
    # Its negative post is the case, and that is bolted to the frame.
    assert circuit.node("alternator.case") == circuit.node("frame") == circuit.node(DATUM) == -1


def test_its_winding_feeds_the_run() -> None:
    solution = solved(circuit_of(ALONE), {"seat": "seated"})
    assert amps(solution, "coil Y1.winding") == pytest.approx(14 / (4 + 0.2 + JOINTS), rel=2e-3)


def test_a_weak_winding_has_its_volts_until_it_is_loaded() -> None:
    # Level 1 is 3 ohm: 14 V open, 14 (4 + JOINTS) / (7 + JOINTS) V loaded.
    circuit = circuit_of(ALONE)
    weak = "alternator: winding weak"
    level = next(m for m in circuit.modes if m.name == weak).changes["alternator.winding ohms"].index(3.0)
    open_ = solved(circuit, {"seat": "empty"}, weak, level=level)
    loaded = solved(circuit, {"seat": "seated"}, weak, level=level)
    assert volts(open_, "alternator.stud", "frame") == pytest.approx(14, abs=1e-3)
    expected = 14 * (4 + JOINTS) / (7 + JOINTS)
    assert volts(loaded, "alternator.stud", "frame") == pytest.approx(expected, rel=2e-3)


def test_a_wire_chafed_to_the_supply_is_fed_by_the_stud() -> None:
    circuit = circuit_of(ALONE)
    fault = "wire seat switch to coil Y1: shorted to supply"
    assert amps(solved(circuit, {"seat": "empty"}, fault, level=0), "coil Y1.winding") > 3


def test_ranking_blames_the_winding() -> None:
    # 14 V open, 4.6 V loaded by about 4.15 ohm: the source has about 8.5 ohm.
    sheet = bp.parse_sheet(ALONE)
    answer = bp.rank(
        sheet,
        "coil Y1 dead, seat seated\n"
        "alternator.stud to frame: 14.0 V, seat empty\n"
        "alternator.stud to frame: 4.6 V, seat seated\n"
        "before coil Y1 to after coil Y1: 4.4 V, seat seated",
    )
    first = answer.groups[0].suspects[0]
    assert first.names == ("alternator: winding weak",)
    assert first.severity is not None
    low, _, high = first.severity
    assert low < 8.5 < high


def test_written_as_spoken_with_its_case_first() -> None:
    spoken = bp.parse_sheet(
        ALONE.replace("[alternator.stud,", "[alternator case, alternator stud, rectifier,")
    )
    assert "battery" not in spoken.parts
    assert spoken.parts["rectifier"].kind == "diode"
    assert [i.enter for i in spoken.runs["alternator mount"].items] == ["alternator.case", "frame"]


def test_a_source_alone_has_wide_volts_of_its_own() -> None:
    plain = bp.parse_sheet(ALONE.replace("parts:\n  alternator: {volts: 14 V, resistance: 0.2 ohm}\n", ""))
    beside = bp.parse_sheet(CHARGED.replace("volts: 14.2 V, resistance: 10 mohm, ", ""))
    assert plain.parts["alternator"].values["volts"].high > beside.parts["alternator"].values["volts"].high
    assert (
        plain.parts["alternator"].values["resistance"].nominal
        > beside.parts["alternator"].values["resistance"].nominal
    )


def test_a_declared_battery_is_kept() -> None:
    kept = bp.parse_sheet(ALONE + "  battery: {volts: 12.6 V}\n")
    assert "battery" in kept.parts


def test_a_controller_without_a_battery_and_a_lost_engine_strap() -> None:
    # The engine is the negative post: without its strap the frame floats up through the load, not the engine.
    sheet = bp.parse_sheet(
        "sheet: Mower without a battery\ncontrols: {seat: [empty, seated]}\nruns:\n"
        "  power: [alternator.stud, fuse F1 10 A, controller.battery]\n"
        "  ground: [controller.ground, engine]\n"
        "  seat: [controller.seat input, seat switch, engine]\n"
        "  work: [controller.blade output, coil Y1 6 ohm, frame]\n"
        "  strap: [engine, strap E1, frame]\n"
        "parts:\n  controller:\n"
        "    seat input: {pull-up: 1 kohm, bands: {0..1 V: seated, 3.5..5.5 V: empty}}\n"
        "functions:\n  blades: {releases when: seat input is seated, drives: blade output}\n"
    )
    answer = bp.rank(
        sheet,
        "blades dead, seat seated\n"
        "alternator.stud to engine: 14.1 V, seat seated\n"
        "frame to engine: 13.0 V, seat seated",
    )
    assert answer.groups[0].suspects[0].names[0].startswith("strap E1: ")

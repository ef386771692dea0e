"""The measurement as a suspect: ghost volts, ohms on a live circuit, leads, and the kinds of slip."""

from __future__ import annotations

from dataclasses import replace
from math import exp, log

import numpy as np
import pytest

import backprobe as bp
from backprobe.diagnosis.doubts import Doubt, Slip
from backprobe.diagnosis.predict import TEST_AMPS, TEST_SPREAD, noise_of, ohms_shown
from backprobe.diagnosis.seen import chance_of_rows
from backprobe.diagnosis.slip_case import ghost_volts, leak_behind
from backprobe.report.coach_words import doubt_lines, told_slips
from backprobe.report.data import answer_data

LIFTER = """
sheet: Vine lifter, hold valve
system: 24 V
controls: {key: [off, on], gate: [open, shut], lever: [rest, lift]}
runs:
  power:  [battery+, fuse F1 10 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, wire 1 m 2.5 mm2 BK, ring G1, frame, strap, battery-]
  guard:  [controller.gate input, C1-3, wire 3 m 0.75 mm2 YE, C4-1, gate switch, C4-2, frame]
  valve:  [controller.hold output, C1-4, wire 4 m 1.5 mm2, C3-1, coil Y1 36 ohm, C3-2, wire, ring G2, frame]
connectors: {C1: {part: controller}, C3: {part: coil Y1}, C4: {part: gate switch}}
parts:
  battery: {volts: 24.6 V +-2 %}
  gate switch: {closed: {gate: shut}, closed ohms: 980 ohm +-2 %, open ohms: 4.64 kohm +-2 %}
  coil Y1: {ohms: {range: 35..37 ohm, origin: measured}}
  controller:
    gate input: {pull-up: 1 kohm +-1 %, pull-up volts: 8.4 V +-1 %, bands: {3..5 V: shut, 6..7.5 V: open}}
functions:
  hold: {releases when: gate input is shut and lever is lift, drives: hold output, guard: gate is shut}
"""
STATE = "state: key on, gate shut, lever lift, all plugged\n"
POINTS = ("battery+", "C1-1", "C1-3", "C3-1", "C3-2")


@pytest.fixture(scope="module")
def engine() -> bp.Engine:
    return bp.Engine(bp.parse_sheet(LIFTER))


def good_lines(engine: bp.Engine, fault: str = "") -> str:
    """What a meter would show at several points, as typed lines."""
    state = {"key": "on", "gate": "shut", "lever": "lift"}
    expected = bp.predict(engine, state, points=POINTS, fault=fault)
    lines = [f"{e.point} to battery-: {e.volts:.2f} V" for e in expected]
    return STATE + "\n".join(lines) + "\nhold works\n"


# --- what a meter does to what it measures ------------------------------------------------------


def test_meter_loads_a_divider_of_great_resistances() -> None:
    """Lessons in Electric Circuits, Volume I, chapter 8 [seen]: 24 V behind 250 Mohm + 250 Mohm.

    A meter of 10 Mohm shows 0.8889 V across one of them, where 12 V stand without it.
    """
    sheet = bp.parse_sheet(
        "sheet: A divider\nsystem: 24 V\nruns:\n"
        "  only: [battery+, resistor R1 250 Mohm, resistor R2 250 Mohm, battery-]\n"
        "parts: {battery: {volts: 24.0 V +-1 %}}\n"
    )
    [shown] = bp.predict(sheet, points=["after R1"])
    # Half of 24 V behind both resistances side by side, 125 Mohm.
    assert ghost_volts(12.0, 125e6) == pytest.approx(0.8889, abs=5e-5)
    # What is open in a circuit here still leaks by 10 Gohm, which is 3 % of what 250 Mohm carry.
    assert shown.volts == pytest.approx(0.8889, rel=0.03)


def test_ghost_volts_through_a_leak() -> None:
    """[calc] 1 Mohm of leakage to 24 V: 24 * 10 / 11 = 21.82 V on a meter of 10 Mohm."""
    assert ghost_volts(24.0, 1e6) == pytest.approx(21.82, abs=5e-3)
    assert leak_behind(24.0, 21.82) == pytest.approx(1e6, rel=2e-3)
    sheet = bp.parse_sheet(
        "sheet: Open wire\nsystem: 24 V\ncontrols: {key: [off, on]}\nruns:\n"
        "  wire: [battery+, key switch, splice S1, coil Y1 20 ohm, frame]\n"
        "  leak: [battery+, resistor leak 1 Mohm, splice S2, C1-1, splice S1]\n"
        "parts: {battery: {volts: 24.0 V +-1 %}}\n"
    )
    setup = bp.make_setup(sheet, {"key": "off"}, frozenset({"C1"}))
    [shown] = bp.predict(sheet, setup, points=["S2"])
    assert shown.volts == pytest.approx(21.82, rel=2e-3)


def test_ohmmeter_reads_volts_of_their_own_as_ohms() -> None:
    """65 mV at a test current of 0.86 mA are 0.065 / 0.00086 = 76 ohm [calc], within what is common."""
    reading = bp.Reading("ohms", bp.Setup(()), value=62.0, leads=0.0)
    shown, pushed = ohms_shown(reading, np.array([0.0, 0.065, -0.01]), np.full(3, 138.0))
    assert shown[0] == 138.0
    assert pushed[1] == pytest.approx(0.065 / TEST_AMPS)
    assert shown[1] == pytest.approx(138 + 0.065 / TEST_AMPS)
    assert shown[2] == pytest.approx(138 - 0.01 / TEST_AMPS)
    assert abs(log(76 / float(pushed[1]))) < 1.7 * TEST_SPREAD
    # The spread is that of a current anywhere from 0.1 to 1.5 mA.
    assert exp(2 * 3**0.5 * TEST_SPREAD) == pytest.approx(15, rel=0.01)


def test_leads_taken_off_leave_a_smaller_doubt() -> None:
    """Leads have 0.2 to 0.5 ohm (a published meter guide [seen]); once taken off, only touch is left."""
    raw = bp.Reading("ohms", bp.Setup(()), value=1.9, digit=0.1)
    off = replace(raw, leads=0.0)
    _, both = noise_of([raw])
    _, touch = noise_of([off])
    assert touch[0, 0] < 0.7 * both[0, 0]
    assert ohms_shown(raw, np.zeros(1), np.ones(1))[0][0] == pytest.approx(1.25)
    assert ohms_shown(off, np.zeros(1), np.ones(1))[0][0] == 1.0


# --- ohms on a live circuit -----------------------------------------------------------------------

GAUGE = """
sheet: Gauge with a one-wire sender
system: 24 V
controls: {master: [off, on]}
runs:
  feed: [battery+, fuse F1 5 A, master switch, resistor gauge, C2-1, wire, C3-1, resistor sender, splice S1]
  load: [master switch, fuse F2 10 A, lamp H1 100 W, frame]
  ground: [frame, strap T1, splice S1, strap T2, battery-]
parts: {resistor sender: {ohms: {range: 10..140 ohm, origin: published, title: class of this sender}}}
functions: {work light: {loads: lamp H1}}
"""
OHMS = (
    "state: master off, C2 unplugged\n"
    "C2-1 machine side to frame: 138 ohm\n"
    "C2-1 machine side to frame: 62 ohm, master on\n"
)


def test_ohms_that_change_with_the_master_switch() -> None:
    """138 ohm dead, 62 ohm live, 65 mV between the same points: the sender is good, a ground is not."""
    volts = "frame to C2-1 machine side: 65 mV, moving 50..95 mV, master on\n"
    answer = bp.rank(bp.parse_sheet(GAUGE), OHMS + volts)
    assert answer.suspects[0].name == "strap T1: bad lug or strap (high resistance)"
    assert not [s for s in answer.suspects if "sender" in s.name or "gauge" in s.name]
    [live] = bp.live_ohms(answer)
    assert live.reading == 1
    assert live.volts == pytest.approx(-0.065)
    assert "62.0 Ω is not a resistance" in " ".join(" ".join(doubt_lines(answer)).split())
    data = answer_data(answer)
    assert data["live_ohms"] == [{"reading": 1, "volts": pytest.approx(-0.065)}]


def test_ohms_on_a_dead_circuit_are_left_alone() -> None:
    answer = bp.rank(bp.parse_sheet(GAUGE), "C2-1 machine side to frame: 138 ohm, master off, C2 unplugged")
    assert bp.live_ohms(answer) == ()
    assert doubt_lines(answer) == []


# --- kinds of slip ---------------------------------------------------------------------------------

CASES = {
    # The supply's volts where the ground's are expected: red was on the supply's cavity of the same plug.
    "cavity": ("C1-2 to battery-: 24.55 V", "C1-1", 24.5),
    # The divider of 1 kohm and the open switch's 4.64 kohm: 8.4 * 4.64 / 5.64 = 6.91 V.
    "state": ("C1-3 to battery-: 6.91 V", "gate open", 6.91),
    # Nothing pulls the input down with the switch unplugged: the pull-up's 8.4 V.
    "plugs": ("C1-3 to battery-: 8.40 V", "C4 unplugged", 8.4),
    "sign": ("C3-1 to C3-2: -24.5 V", "", -24.5),
    "decimal": ("battery+ to C3-2: 24.6 mV", "x0.001", 0.0246),
    # 1.5 ohm of worn leads on a joint of some milliohm.
    "leads": ("G2 lug to frame: 1.5 ohm, key off, C3 unplugged", "", 0.4),
}


@pytest.mark.parametrize("kind", CASES)
def test_a_slip_is_named_with_its_arithmetic(kind: str, engine: bp.Engine) -> None:
    line, where, shows = CASES[kind]
    answer = bp.rank(engine, good_lines(engine) + line)
    [doubt] = bp.doubts(answer)
    assert answer.readings.all[doubt.reading].text.startswith(line.split(",")[0])
    first = doubt.slips[0]
    assert first.kind == kind
    assert where in first.where
    assert first.value == pytest.approx(shows, rel=0.02, abs=0.02)
    assert sum(s.chance for s in doubt.slips) <= 1 + 1e-9


def test_black_on_a_bad_ground_point(engine: bp.Engine) -> None:
    """A strap that loses volts: what was said to be read to battery- was read to the frame."""
    fault = "strap: bad lug or strap (high resistance)"
    lines = good_lines(engine, fault)
    state = {"key": "on", "gate": "shut", "lever": "lift"}
    [frame] = bp.predict(engine, state, points=["frame"], fault=fault)
    [wrong] = bp.predict(engine, state, points=["C3-1"], black="frame", fault=fault)
    lines += f"frame to battery-: {frame.volts:.2f} V\nafter Y1 to battery-: {frame.volts:.2f} V\n"
    answer = bp.rank(
        engine,
        lines.replace("C3-1 to battery-", "C1-4 to battery-") + f"C3-1 to battery-: {wrong.volts:.2f} V",
    )
    named = {s.where for d in bp.doubts(answer) for s in d.slips if s.kind == "black"}
    assert "black on frame" in named


def test_ghost_volts_are_named_with_their_leak(engine: bp.Engine) -> None:
    """9 V on a wire open at both ends: 10 Mohm * (24 / 9 - 1) = 16.7 Mohm of leakage."""
    answer = bp.rank(engine, good_lines(engine) + "C1-3 to battery-: 9.0 V, C1 unplugged, C4 unplugged")
    [doubt] = bp.doubts(answer)
    assert doubt.slips[0].kind == "ghost"
    assert doubt.slips[0].detail == pytest.approx(16.67e6, rel=1e-3)
    assert "test lamp" in " ".join(doubt_lines(answer))


def test_average_of_pulses_is_thought_of_at_an_output_only(engine: bp.Engine) -> None:
    lines = good_lines(engine)
    pulsed = bp.doubts(bp.rank(engine, lines + "C3-1 to C3-2: 11.0 V"))[0]
    assert next(s for s in pulsed.slips if s.kind == "average").detail == pytest.approx(0.45, abs=0.01)
    steady = bp.doubts(bp.rank(engine, lines + "battery+ to C1-2: 11.0 V"))[0]
    assert "average" not in {s.kind for s in steady.slips}


def test_a_live_circuit_is_thought_of_where_one_measured_in_it() -> None:
    """Without the millivolts: 138 - 62 = 76 ohm are 76 * 0.39 mA = 30 mV at a middling test current.

    The sheet knows of no load that could shift a ground, so that the reading itself is in doubt.
    """
    sheet = bp.parse_sheet(GAUGE.replace("lamp H1 100 W, frame]", "lamp H1 100 W, battery-]"))
    answer = bp.rank(sheet, OHMS)
    [doubt] = [d for d in bp.doubts(answer) if d.reading == 1]
    assert doubt.slips[0].kind == "live"
    assert doubt.slips[0].detail == pytest.approx(76 * TEST_AMPS, rel=0.05)


def test_no_kind_of_slip_is_said_where_it_is_none_that_is_known() -> None:
    sign, other = Slip("sign", 0.6, -4.2, "", np.nan), Slip("other", 0.4, np.nan, "", np.nan)
    assert told_slips(Doubt(0, 0.5, 12.1, (sign, other))) == (sign, other)
    assert told_slips(Doubt(0, 0.5, 12.1, (replace(other, chance=0.6), replace(sign, chance=0.4)))) == ()


def test_readings_that_agree_are_not_doubted(engine: bp.Engine) -> None:
    answer = bp.rank(engine, good_lines(engine))
    assert bp.doubts(answer) == ()


# --- what is seen without a number -----------------------------------------------------------------

FUSED = """
sheet: Pump relay on a fuse
system: 12 V
controls: {key: [off, on]}
runs:
  coil: [battery+, fuse F1 5 A, key switch, C1-1, coil Y1 8 ohm, frame]
functions: {pump: {loads: coil Y1}}
"""
SHORT = "wire key switch to C1-1: shorted to frame"


def chances(line: str, *names: str) -> list[float]:
    """Chance of one observation under each fault, as built for an empty name."""
    engine = bp.Engine(bp.parse_sheet(FUSED))
    reading = bp.parse_reading(line, engine.sheet)
    modes, mode_of = engine.catalogue.modes, engine.catalogue.mode_of
    plain = engine.single_chance(reading)
    found: list[float] = []
    for name in names:
        rows = [
            r for r in range(engine.catalogue.count) if mode_of[r] >= 0 and modes[mode_of[r]].name == name
        ]
        row = rows[0] if rows else 0
        faults = [(row,)] if rows else [()]
        found.append(float(chance_of_rows(engine, reading, faults, plain[row : row + 1])[0]))
    return found


def test_a_fuse_blows_where_the_current_says_so() -> None:
    """12.6 V / 8 ohm = 1.6 A leaves 5 A whole; a few tenths of an ohm draw tens of amps."""
    state = ", key on, all plugged"
    sound, short, blown = chances(f"fuse F1 blows{state}", "", SHORT, "fuse F1: blown")
    assert sound < 0.05
    assert short > 0.9
    # A fuse that is blown already cannot blow again.
    assert blown < 0.05
    held = chances(f"fuse F1 holds{state}", "")[0]
    assert held == pytest.approx(1 - sound)


def test_a_blown_fuse_is_seen_and_may_have_a_cause() -> None:
    sound, blown = chances("fuse F1 blown, key off, all plugged", "", "fuse F1: blown")
    assert sound == pytest.approx(0.02)
    assert blown == pytest.approx(0.95)
    good = chances("fuse F1 good, key off, all plugged", "fuse F1: blown")[0]
    assert good == pytest.approx(0.05)


def test_a_beeper_beeps_below_some_thirty_ohm() -> None:
    line = "C1-1 part side to after coil Y1 {}, key off, C1 unplugged"
    [sound, broken] = chances(line.format("beeps"), "", "coil Y1: winding open")
    assert sound > 0.9
    assert broken < 0.05
    assert chances(line.format("silent"), "")[0] == pytest.approx(1 - sound)


def test_a_blown_fuse_is_no_second_observation_of_what_is_dead() -> None:
    """What blows the fuse is sought, not what leaves the pump dead: a wire that is open draws nothing."""
    answer = bp.rank(bp.parse_sheet(FUSED), "state: key on, all plugged\npump dead\nfuse F1 blows at once\n")
    first = [s.name for s in answer.suspects[:5]]
    assert all("short" in name or name == "fuse F1: weaker fuse fitted" for name in first), first
    # Ten and more open faults share what is left to a slip of the eye.
    assert answer.suspects[0].probability > 3 * max(s.probability for s in answer.suspects[5:])

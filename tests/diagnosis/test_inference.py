"""What an honest diagnosis must do, on one start chain acted out by the solver itself."""

from __future__ import annotations

import random

import numpy as np
import pytest

import backprobe as bp
from backprobe.circuit.full import solve_full
from backprobe.readings.model import Reading

SHEET = """
sheet: Loader start chain
system: 12 V
controls: {key: [off, on, start], seat: [empty, seated], brake: [released, set]}
runs:
  start: [battery+, fuse F2 10 A, key switch, C1-1, seat switch, C1-2, brake switch,
          relay coil K1 78 ohm, ring G1, frame]
parts:
  key switch: {kind: switch, closed: {key: start}}
"""
STATE = "state: key start, seat seated, brake set, all plugged\n"


@pytest.fixture(scope="module")
def sheet() -> bp.Sheet:
    """The start chain."""
    return bp.parse_sheet(SHEET)


@pytest.fixture(scope="module")
def engine(sheet: bp.Sheet) -> bp.Engine:
    """One engine for all tests: it holds nothing of the readings."""
    return bp.Engine(sheet)


def act_out(engine: bp.Engine, faults: dict[str, float], points: list[str]) -> str:
    """Lines that a meter of two decimals would show with some resistances changed [ohm]."""
    values = engine.circuit.nominal.copy()
    for key, ohms in faults.items():
        values[engine.circuit.parameter_of[key]] = ohms
    lines = bp.parse_readings(STATE + "".join(f"{p} to battery-: 1 V\n" for p in points), engine.sheet)
    solution = solve_full(engine.stage(lines[0].setup), values[None])
    shown = [float(solution.across(r.red, r.black)[0]) for r in lines]
    return "".join(f"{p} to battery-: {v:.2f} V\n" for p, v in zip(points, shown, strict=True))


POINTS = ["battery+", "after key switch", "C1-1", "C1-2", "before relay K1", "after relay K1", "ring G1 lug"]


@pytest.mark.parametrize(
    ("key", "ohms", "name"),
    [
        ("seat switch.contact ohms", 60.0, "seat switch: contact worn or dirty"),
        ("ring G1.face ohms", 90.0, "ring G1: bad joint to metal (high resistance)"),
        ("fuse F2.holder ohms", 70.0, "fuse F2: bad holder (high resistance)"),
        ("C1-2.pin ohms", 1e10, "C1-2: pin pushed back"),
    ],
)
def test_finds_what_was_acted_out(engine: bp.Engine, key: str, ohms: float, name: str) -> None:
    """The true fault is in the leading group."""
    answer = bp.rank(engine, STATE + "relay K1 dead\n" + act_out(engine, {key: ohms}, POINTS))
    assert name in [s.name for s in answer.groups[0].suspects]


def test_severity_interval_covers_the_truth(engine: bp.Engine) -> None:
    """The 90 % interval of the resistance holds the acted-out 60 ohm and is narrow."""
    answer = bp.rank(
        engine, STATE + "relay K1 dead\n" + act_out(engine, {"seat switch.contact ohms": 60.0}, POINTS)
    )
    suspect = next(s for s in answer.suspects if s.name == "seat switch: contact worn or dirty")
    assert suspect.severity is not None
    low, _, high = suspect.severity
    assert low < 60.0 < high
    assert high / low < 3


def test_three_worn_joints_and_one_cause(engine: bp.Engine) -> None:
    """Losses that leave the relay its pull-in volts are worn, not the cause: only the large one is."""
    faults = {
        "key switch.contact ohms": 3.0,
        "brake switch.contact ohms": 4.0,
        "ring G1.face ohms": 3.0,
        "seat switch.contact ohms": 80.0,
    }
    points = [*POINTS, "after brake switch"]
    answer = bp.rank(engine, STATE + "relay K1 dead\n" + act_out(engine, faults, points))
    leader = answer.groups[0]
    assert "seat switch: contact worn or dirty" in [s.name for s in leader.suspects]
    for suspect in answer.suspects:
        if suspect.name.startswith(("key switch", "ring G1", "brake switch")):
            assert suspect.probability < 0.15
    assert len(answer.worn) >= 2


def test_order_of_readings_does_not_matter(engine: bp.Engine) -> None:
    """Shuffled readings give the same probabilities."""
    text = "relay K1 dead\n" + act_out(engine, {"C1-1.pin ohms": 45.0}, POINTS)
    lines = text.strip().split("\n")
    first = bp.rank(engine, STATE + text)
    random.Random(3).shuffle(lines)
    again = bp.rank(engine, STATE + "\n".join(lines))
    one = {s.name: s.probability for s in first.suspects}
    other = {s.name: s.probability for s in again.suspects}
    assert one.keys() == other.keys()
    for name, chance in one.items():
        assert other[name] == pytest.approx(chance, abs=1e-6)


def test_a_slip_does_not_bury_the_truth(engine: bp.Engine) -> None:
    """One reading at the wrong cavity: the truth still leads and the odd reading is named."""
    good = act_out(engine, {"seat switch.contact ohms": 60.0}, [*POINTS, "after brake switch"])
    spoiled = good.replace(
        next(line for line in good.split("\n") if line.startswith("before relay K1")),
        "before relay K1 to battery-: 12.41 V",
    )
    answer = bp.rank(engine, STATE + "relay K1 dead\n" + spoiled)
    assert "seat switch: contact worn or dirty" in [s.name for s in answer.groups[0].suspects]
    assert answer.slips
    assert answer.readings.all[answer.slips[0][0]].red_name == "before relay K1"


def test_nonsense_goes_to_none_of_these(engine: bp.Engine) -> None:
    """Readings that no circuit of this sheet can show are no error: the sheet is doubted instead."""
    text = STATE + (
        "battery+ to battery-: 12.60 V\nafter key switch to battery-: 3.10 V\nC1-1 to battery-: 9.80 V\n"
        "C1-2 to battery-: 1.20 V\nbefore relay K1 to battery-: 7.70 V\nafter relay K1 to battery-: 11.10 V\n"
    )
    answer = bp.rank(engine, text)
    assert answer.none_of_these > 0.5


def test_none_of_these_keeps_its_floor(engine: bp.Engine) -> None:
    """Even a perfect fit leaves a hundredth for a wrong sheet."""
    answer = bp.rank(
        engine, STATE + "relay K1 dead\n" + act_out(engine, {"seat switch.contact ohms": 60.0}, POINTS)
    )
    assert answer.none_of_these >= 0.01
    assert answer.none_of_these + float(np.sum(answer.share)) == pytest.approx(1.0)


def test_looking_and_swapping_count(engine: bp.Engine) -> None:
    """A green plug speaks for the plug; a swap that changes nothing clears the part."""
    base = STATE + "relay K1 dead\nbattery+ to battery-: 12.5 V\n"
    before = {s.name: s.probability for s in bp.rank(engine, base).suspects}
    green = {s.name: s.probability for s in bp.rank(engine, base + "looked at C1-2: green").suspects}
    swapped = {s.name: s.probability for s in bp.rank(engine, base + "swapped relay K1: no change").suspects}
    assert green["C1-2: pin pushed back"] > 2 * before["C1-2: pin pushed back"]
    assert swapped.get("relay K1: coil open", 0.0) < 0.2 * before["relay K1: coil open"]


def test_drops_that_do_not_sum_are_named(engine: bp.Engine) -> None:
    """Kirchhoff's voltage law on the readings themselves."""
    text = STATE + ("C1-1 to battery-: 11.90 V\nC1-2 to battery-: 6.40 V\nC1-1 to C1-2: 2.10 V\n")
    answer = bp.rank(engine, text)
    assert len(answer.drops) == 1
    assert abs(answer.drops[0].gap) == pytest.approx(11.9 - 6.4 - 2.1, abs=1e-9)
    fair = bp.rank(engine, text.replace("2.10", "5.48"))
    assert not fair.drops


def test_over_range_speaks_for_an_open_part(engine: bp.Engine) -> None:
    """Over-range across the unplugged seat switch, seated: it does not close."""
    text = "relay K1 dead, key start, seat seated, brake set, all plugged\n"
    text += "C1-1 part side to C1-2 part side: OL, key off, seat seated, brake set, C1 unplugged\n"
    answer = bp.rank(engine, text)
    assert answer.suspects[0].name == "seat switch: does not close"
    assert answer.suspects[0].probability > 0.5


def test_next_checks_say_what_outcomes_mean(engine: bp.Engine) -> None:
    """Every offered check has outcomes with suspects and cautions, and none repeats a reading."""
    text = STATE + "relay K1 dead\nC1-1 to battery-: 12.30 V\n"
    answer = bp.rank(engine, text)
    checks = bp.next_checks(answer, 8)
    assert len(checks) == 8
    done = {(r.red, r.black, r.setup) for r in answer.readings.numbers}
    for check in checks:
        assert check.outcomes
        assert sum(o.chance for o in check.outcomes) == pytest.approx(1.0, abs=1e-6)
        reading: Reading = check.candidate.as_reading()
        assert (reading.red, reading.black, reading.setup) not in done
        asked = "start" in dict(check.candidate.setup.state).values() and not check.candidate.setup.unplugged
        if asked and check.candidate.kind == "volts":
            assert any("crank" in c for c in check.cautions)
    assert checks[0].worth >= checks[1].worth

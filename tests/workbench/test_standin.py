"""Stand-ins: corners against every corner and against the solver, aims, drawers, and what they let go."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from math import inf, isfinite

import numpy as np
import pytest

import backprobe as bp
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Attachment, Setup
from backprobe.circuit.stage import make_stage
from backprobe.errors import SheetError, UnitError
from backprobe.sheet.anatomy import Value
from backprobe.workbench.preferred import divider_corners
from backprobe.workbench.standin import judge_pair, parse_band, stand_in, stand_in_for
from backprobe.workbench.standin_backwards import accepted
from backprobe.workbench.standin_input import InputPort
from backprobe.workbench.standin_parts import Parts, aim, candidates, parts_of_drawer, parts_of_series
from backprobe.workbench.standin_pot import swept
from tests.cli.helpers import SHEET

STIFF = Value(1e-6, 1e-6, 1e-6, "ohm")
THREE_WIRES = """\
sheet: Vine trimmer, gate circuit
system: 12 V
controls: {key: [off, on], gate: [open, shut], lever: [rest, trim]}
runs:
  power:  [battery+, fuse F1 10 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, frame, strap, battery-]
  feed:   [controller.feed, C2-1, gate sensor.supply]
  signal: [gate sensor.output, C2-2, controller.gate input]
  return: [gate sensor.ground, C2-3, controller.sensor ground]
  valve:  [controller.trim output, C3-1, coil Y1 9 ohm, frame]
connectors: {C1: {part: controller}, C2: {part: gate sensor}}
parts:
  gate sensor: {kind: ratiometric sensor, output: {gate open: 21 %, gate shut: 64 %}}
  controller:
    feed: {volts: 8.8 V +-2 %, limit: 50 mA}
    gate input:
      pull-up: 52 kohm +-15 %
      pull-down: 36 kohm +-15 %
      bands: {0..0.8 V: code low, 0.8..2.9 V: open, 4.6..6.4 V: shut, 7.3..9.5 V: code high}
functions:
  trimmer: {releases when: gate input is shut and lever is trim, drives: trim output, guard: gate is shut}
cautions: [Cutter bar on its rest.]
"""


def value(nominal: float, share: float, unit: str) -> Value:
    return Value(nominal, nominal * (1 - share), nominal * (1 + share), unit)


def port(feed: float, band: tuple[float, float], pull_down: float = 1e5) -> InputPort:
    return InputPort(value(feed, 0.03, "V"), band, pull_down=value(pull_down, 0.3, "ohm"))


@pytest.mark.parametrize(
    ("share", "tolerance", "low", "high"),
    [
        (0.5, 0.05, 0.475, 0.525),
        (0.5, 0.01, 0.495, 0.505),
        (0.2, 0.01, 0.19682, 0.20322),
        (0.9, 0.01, 0.89819, 0.90178),
    ],
)
def test_a_divider_alone_has_the_textbook_corners(
    share: float, tolerance: float, low: float, high: float
) -> None:
    # Closed form, written out for ratio k and tolerance t: k(1-t) / (k(1-t) + (1-k)(1+t)).
    bare = InputPort(Value(1.0, 1.0, 1.0, "V"), (0.01, 0.99), feed_ohms=STIFF)
    upper, lower = np.array([(1 - share) * 1e4]), np.array([share * 1e4])
    assert float(bare.divided(upper, lower, tolerance, -1)[0]) == pytest.approx(low, abs=6e-6)
    assert float(bare.divided(upper, lower, tolerance, 1)[0]) == pytest.approx(high, abs=6e-6)
    one, _, other = divider_corners((1 - share) * 1e4, share * 1e4, tolerance)
    assert (one, other) == pytest.approx((low, high), abs=6e-6)


@pytest.mark.parametrize("top", [None, value(5.0, 0.05, "V"), value(1.2, 0.05, "V")])
def test_worst_corners_are_those_of_all_corners(top: Value | None) -> None:
    given = InputPort(
        value(8.8, 0.03, "V"), (3.0, 6.0), value(36e3, 0.2, "ohm"), value(52e3, 0.2, "ohm"), top
    )
    for upper, lower in ((1500.0, 3300.0), (39e3, 68e3), (inf, 22e3), (22e3, inf)):
        found = []
        for a, b, f, r, d, u, t in product((-1, 1), repeat=7):
            feed = (given.feed.low, given.feed.high)[f > 0]
            drop = (given.feed_ohms.low, given.feed_ohms.high)[r > 0]
            down, up = 36e3 * (1 + 0.2 * d), 52e3 * (1 + 0.2 * u)
            volts = feed if top is None else (top.low, top.high)[t > 0]
            g = 1 / (upper * (1 + 0.05 * a) + drop)
            total = g + 1 / (lower * (1 + 0.05 * b)) + 1 / down + 1 / up
            found.append((feed * g + volts / up) / total)
        one, other = np.array([upper]), np.array([lower])
        assert float(given.divided(one, other, 0.05, -1)[0]) == pytest.approx(min(found), rel=1e-9)
        assert float(given.divided(one, other, 0.05, 1)[0]) == pytest.approx(max(found), rel=1e-9)


def test_corners_agree_with_the_solver() -> None:
    sheet = bp.parse_sheet(THREE_WIRES)
    bench = stand_in_for(sheet, "gate input", "shut", count=6)
    site = bench.site
    assert site is not None
    circuit = site.engine.circuit
    sides = {
        "controller.feed volts": "feed",
        "controller.gate input pull-up volts": "feed",
        "controller.gate input pull-up ohms": "pull_up",
        "controller.gate input pull-down ohms": "pull_down",
    }
    # On the solver's side nothing but the parameters is moved; up lifts the signal, down lowers it.
    direction = {"feed": 1, "pull_up": -1, "pull_down": 1}
    for stand in bench.stand_ins:
        for side, shown in ((-1, stand.low), (0, stand.volts), (1, stand.high)):
            values = circuit.nominal.copy()
            for key, name in sides.items():
                number = {"feed": bench.port.feed, "pull_up": bench.port.pull_up}.get(
                    name, bench.port.pull_down
                )
                assert number is not None
                toward = side * direction[name]
                values[circuit.parameter_of[key]] = (number.low, number.nominal, number.high)[toward + 1]
            bound = bench.parts.bound * side
            pieces = []
            if isfinite(stand.upper):
                pieces.append(Attachment("resistor", site.feed, site.signal, stand.upper * (1 - bound)))
            if isfinite(stand.lower):
                pieces.append(Attachment("resistor", site.signal, site.ground, stand.lower * (1 + bound)))
            setup = Setup(site.setup.state, site.setup.unplugged, tuple(pieces))
            solved = solve_full(make_stage(circuit, setup), values[None])
            volts = float(solved.across(site.input, site.ground_of_input)[0])
            assert volts == pytest.approx(shown, abs=0.012)
    assert bench.checked == pytest.approx([s.volts for s in bench.stand_ins], abs=0.005)


def test_aim_of_a_band_with_two_ends_is_near_its_middle_and_not_half_the_feed() -> None:
    # Feed about 10 V, releases from 4.5 to 7.5 V, codes beyond: 6.0 V is used; common practice, no source.
    given = port(10.0, (4.5, 7.5))
    for number in (12, 24, 96):
        assert aim(given, parts_of_series(number)) == pytest.approx(6.0, abs=0.15)
    best = stand_in(given).best
    assert best is not None
    assert best.volts == pytest.approx(6.0, abs=0.2)
    assert best.low > 4.5
    assert best.high < 7.5


def test_aim_of_a_band_with_one_known_end_stays_near_what_was_seen() -> None:
    # Feed about 8 V, releases at 2.6 V and below and not at 3: 2.0 V is used; common practice, no source.
    given = port(8.0, (-inf, 2.6))
    assert aim(given, parts_of_series(24)) == pytest.approx(2.0, abs=0.2)
    best = stand_in(given).best
    assert best is not None
    assert 1.5 < best.volts < 2.3
    assert best.high < 2.6


def test_room_counts_tolerances() -> None:
    given = port(9.4, (3.0, 5.0))
    stand = judge_pair(given, parts_of_series(24, 0.05), 5600, 4700)
    down, up = (stand.volts - 3) / (stand.volts - stand.low), (5 - stand.volts) / (stand.high - stand.volts)
    assert stand.room == pytest.approx(min(down, up))
    assert stand.to_low == pytest.approx(stand.low - 3)
    wider = judge_pair(given, parts_of_series(24, 0.1), 5600, 4700)
    assert wider.room < stand.room
    assert judge_pair(given, parts_of_series(24), 1000, 10000).verdict == "fails"


def test_watts_and_load_by_hand() -> None:
    bare = InputPort(Value(9.0, 9.0, 9.0, "V"), (3.0, 5.0), feed_ohms=STIFF)
    parts = Parts((1e3,), 0.0, "E24", (20.0, 20.0))
    stand = judge_pair(bare, parts, 1000, 800)
    # 9 V / 1.8 kohm = 5 mA; 5 V over 1 kohm is 25 mW, 4 V over 800 ohm 20 mW.
    assert stand.amps == pytest.approx(5e-3)
    assert stand.watts == pytest.approx(25e-3)
    assert stand.volts == pytest.approx(4.0)


def test_colder_or_coarser_resistors_move_more() -> None:
    fine, coarse = parts_of_series(96), parts_of_series(12)
    assert fine.tolerance == pytest.approx(0.01)
    # 10 % and 200 ppm/K over 30 K are 10.6 %.
    assert coarse.bound == pytest.approx(0.106)
    assert replace(fine, temperatures=(-30.0, 50.0)).bound == pytest.approx(0.01 + 100e-6 * 50)


def test_candidates_use_only_the_parts_at_hand_and_spare_the_feed() -> None:
    parts = parts_of_drawer("1k, 2.2k; 4.7k\n10k  # from the tin\n", 0.05)
    assert parts.values == (1e3, 2.2e3, 4.7e3, 1e4)
    given = replace(port(8.6, (2.0, 4.0)), feed_limit=value(6e-3, 0.1, "A"))
    found = candidates(given, parts)
    assert found
    for stand in found:
        assert set(stand.resistors) <= set(parts.values)
        assert stand.amps <= 0.25 * 5.4e-3
        assert stand.watts <= 0.125
    held = replace(given, pull_down=value(30e3, 0.2, "ohm"))
    forms = {(s.place, s.joining) for s in candidates(held, parts_of_series(24))}
    assert {("divider", "single"), ("to feed", "series"), ("to feed", "parallel")} <= forms


def test_two_wire_input_is_met_by_one_resistor_to_ground() -> None:
    # 8.2 V behind 1 kohm, on from 2.1 to 6.0 mA: 6.1 V down to 2.2 V, 2905 to 367 ohm (IEC 60947-5-6 [mem]).
    given = InputPort(
        Value(8.2, 8.2, 8.2, "V"), (2.2, 6.1), pull_up=Value(1e3, 1e3, 1e3, "ohm"), feed_ohms=STIFF
    )
    rows = {a.what: a for a in accepted(given, (0.0,))}
    ground = rows["ohms to ground"]
    assert ground.low == pytest.approx(367, abs=0.5)
    assert ground.high == pytest.approx(2905, abs=0.5)
    off = {a.what: a for a in accepted(replace(given, band=(7.0, 7.85)), (0.0,))}["ohms to ground"]
    # 1.2 and 0.35 mA: 5833 and 22429 ohm.
    assert off.low == pytest.approx(5833, abs=0.5)
    assert off.high == pytest.approx(22429, abs=0.5)
    best = next(s for s in candidates(given, parts_of_series(24, 0.01)) if s.place == "to ground")
    assert 367 < best.lower < 2905


def test_backwards_is_forwards_turned_round() -> None:
    given = InputPort(value(8.8, 0.02, "V"), (4.6, 6.4), value(36e3, 0.15, "ohm"), value(52e3, 0.15, "ohm"))
    rows = {(a.what, a.source_ohms): a for a in accepted(given, (0.0, 3300.0))}
    source = rows["source volts", 3300.0]
    assert source.low is not None
    assert source.high is not None
    for volts, edge in ((source.low, 4.6), (source.high, 6.4)):
        back = given.loaded(np.array([volts / 3300]), np.array([1 / 3300]))
        assert float(back[0]) == pytest.approx(edge)
    feed = rows["ohms to feed", 0.0]
    assert feed.low is not None
    assert feed.high is not None
    bare = replace(given, feed_ohms=STIFF)
    for ohms, edge in ((feed.high, 4.6), (feed.low, 6.4)):
        assert float(bare.divided(np.array([ohms]), np.array([inf]), 0.0)[0]) == pytest.approx(edge, abs=1e-3)
    for row in rows.values():
        if row.sure_low is not None and row.sure_high is not None:
            assert row.low is not None
            assert row.high is not None
            assert row.low <= row.sure_low <= row.sure_high <= row.high


def test_an_open_wire_that_is_accepted_is_said() -> None:
    given = InputPort(value(5.2, 0.02, "V"), (3.6, inf), pull_up=value(8200, 0.1, "ohm"))
    ground = next(a for a in accepted(given) if a.what == "ohms to ground")
    assert ground.high == inf
    # 3.6 = 5.2 R / (R + 8200)
    assert ground.low == pytest.approx(3.6 * 8200 / 1.6)


def test_the_wiper_cannot_reach_a_code_wherever_it_stands() -> None:
    bench = stand_in_for(bp.parse_sheet(THREE_WIRES), "gate input", "shut")
    found = bench.adjustable
    assert found is not None
    chain = tuple(np.array([x]) for x in (found.top, found.track, found.bottom))
    for turned in np.linspace(0, 1, 41):
        for side in (-1, 0, 1):
            args = (chain[0], chain[1], chain[2], found.protector)
            volts = float(swept(bench.port, args, float(turned), bench.parts.bound, side)[0])
            assert 0.8 <= volts <= 7.3
    assert found.surely_from <= bench.aim <= found.surely_to
    assert found.wiper_amps <= 2e-3


def test_what_it_would_let_go_is_said_with_the_guard_open() -> None:
    bench = stand_in_for(bp.parse_sheet(THREE_WIRES), "gate", "shut")
    assert [r.function for r in bench.released] == ["trimmer"]
    released = bench.released[0]
    assert released.guard == "gate is shut"
    assert released.shut is not None
    assert released.open is not None
    assert released.open.position("gate") == "open"
    held = stand_in_for(bp.parse_sheet(THREE_WIRES), "gate", "open")
    assert held.released == ()


def test_a_plug_without_ground_uses_the_frame() -> None:
    bench = stand_in_for(bp.parse_sheet(SHEET), "gate input", "shut")
    assert bench.site is not None
    assert (bench.site.plug, bench.site.ground) == ("C2", "frame")
    assert bench.site.feed == "C2-1.machine"
    assert bench.best is not None


@pytest.mark.parametrize(
    ("name", "meaning", "says"),
    [
        ("door input", "shut", "gate input"),
        ("gate input", "shuut", "shut"),
        ("gate", "ajar", "nothing that gate input reads"),
    ],
)
def test_unknown_inputs_and_bands_are_refused(name: str, meaning: str, says: str) -> None:
    with pytest.raises(SheetError, match=says):
        stand_in_for(bp.parse_sheet(THREE_WIRES), name, meaning)


def test_bands_as_typed() -> None:
    assert parse_band("4.7..6.5 V") == (4.7, 6.5)
    assert parse_band("..2.7 V") == (-inf, 2.7)
    assert parse_band("0..2.7") == (-inf, 2.7)
    assert parse_band("4.7..") == (4.7, inf)
    for wrong in ("6.5", "6.5..4.7 V", "some volts", "..3 ohm"):
        with pytest.raises(UnitError):
            parse_band(wrong)


def test_what_cannot_be_used_is_refused() -> None:
    with pytest.raises(UnitError, match="cannot be reached"):
        stand_in(port(5.0, (7.0, 8.0)))
    with pytest.raises(UnitError, match="no end"):
        port(5.0, (-inf, inf))
    with pytest.raises(UnitError, match="low to high"):
        port(5.0, (3.0, 2.0))
    with pytest.raises(UnitError, match="series"):
        parts_of_series(13)
    with pytest.raises(UnitError, match="tolerance"):
        parts_of_series(24, 0.9)
    with pytest.raises(UnitError) as error:
        parts_of_drawer("1k\n4.7 V\n", file="tin.txt")
    assert "tin.txt:2" in str(error.value)
    with pytest.raises(UnitError, match="no list"):
        parts_of_drawer("# nothing\n")


def test_a_two_wire_plug_gets_one_resistor_to_ground() -> None:
    # Off from 0.35 to 1.2 mA through 1 kohm from 8.2 V: 7.0 to 7.85 V, 5.8 to 22 kohm (IEC 60947-5-6 [mem]).
    sheet = bp.parse_sheet(
        THREE_WIRES.replace(
            "  feed:   [controller.feed, C2-1, gate sensor.supply]\n"
            "  signal: [gate sensor.output, C2-2, controller.gate input]\n"
            "  return: [gate sensor.ground, C2-3, controller.sensor ground]\n",
            "  loop: [controller.gate input, C2-1, gate sensor, C2-2, controller.sensor ground]\n",
        )
        .replace(
            "kind: ratiometric sensor, output: {gate open: 21 %, gate shut: 64 %}",
            "kind: two-wire sensor, amps: {gate open: 3.1 mA, gate shut: 0.8 mA}",
        )
        .replace("    feed: {volts: 8.8 V +-2 %, limit: 50 mA}\n", "")
        .replace(
            "      pull-up: 52 kohm +-15 %\n      pull-down: 36 kohm +-15 %\n",
            "      pull-up: 1 kohm +-2 %\n      pull-up volts: 8.2 V +-2 %\n",
        )
        .replace(
            "0..0.8 V: code low, 0.8..2.9 V: open, 4.6..6.4 V: shut, 7.3..9.5 V: code high",
            "0..0.35 mA: code low, 0.35..1.2 mA: shut, 2.1..6 mA: open, 6..9 mA: code high",
        )
    )
    bench = stand_in_for(sheet, "gate input", "shut")
    assert {s.place for s in bench.stand_ins} == {"to ground"}
    assert bench.adjustable is None
    best = bench.stand_ins[0]
    assert len(best.resistors) == 1
    assert 5833 < best.lower < 22429
    # Through the resistor: 8.2 V over 1 kohm and itself.
    assert best.amps == pytest.approx(8.2 / (1000 + best.lower), rel=0.01)
    assert {a.what for a in bench.accepts} == {"source volts", "ohms to ground"}

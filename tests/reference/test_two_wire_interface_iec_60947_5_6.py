"""Two-wire proximity interface of 8.2 V behind 1 kohm (IEC 60947-5-6).

Switching band, hysteresis, line and insulation limits and the resistor ranges of monitored
switches are [seen] in pages of several makers; the 1 kohm and hence 8.2 mA are [mem]; loop
currents are [calc] by Ohm's law from these.
"""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.circuit.settle import input_of
from backprobe.diagnosis.predict import chance_of
from backprobe.sheet.anatomy import Band
from backprobe.workbench.supervision import Loop, supervise, supervising_pairs
from tests.circuit.helpers import amps, solve_sheet, volts
from tests.reference.books import outside

SUBJECT = "two-wire interface of 8.2 V"
STANDARD = "IEC 60947-5-6"
NEAR = 2e-4
"""What the joints and wires of a sheet, some tens of milliohms, take of a loop of kilohms [relative]."""

SHEET = """
sheet: supervised gate contact
system: 24 V
controls: {{gate: [open, shut]}}
runs:
  power: [battery+, fuse F1 5 A, box.battery]
  ground: [box.ground, ring G1, frame, strap, battery-]
  loop: [box.gate input, C1-1, {line}resistor Rs {series}, gate switch, C1-2, box.sensor ground]
parts:
  box:
    kind: controller
    gate input:
      pull-up: 1 kohm
      pull-up volts: 8.2 V
      bands: {{0..2.2 V: code short, 2.2..6.1 V: shut, 7.0..7.85 V: open, 7.85..8.5 V: code break}}
  gate switch: {{closed: {{gate: shut}}{parallel}}}
lamps:
  gate lamp: {{lit: gate input is shut}}
"""
PULL_UP = "box.gate input pull-up"


def sheet(series: str = "1 kohm", parallel: str = "10 kohm", line: str = "") -> str:
    """The loop with a resistor in series with the contact, one across it, and a line."""
    across = f", open ohms: {parallel}" if parallel else ""
    wires = f"resistor line {line}, " if line else ""
    return SHEET.format(series=series, parallel=across, line=wires)


def milliamps(text: str, gate: str) -> float:
    """Loop current, solved [mA]."""
    return amps(solve_sheet(text, {"gate": gate}), PULL_UP) * 1e3


def meaning(text: str, gate: str, *, fault: str = "") -> str:
    """What the input of the solved sheet, perhaps with a fault at its severest, is taken to mean."""
    engine = bp.Engine(bp.parse_sheet(text))
    setup = bp.make_setup(engine.sheet, {"gate": gate})
    rows = [0]
    if fault:
        number = [m.name for m in engine.catalogue.modes].index(fault)
        rows = [int(r) for r in engine.catalogue.rows_of(number)]
    # A break is severest last, a short first.
    row = rows[-1] if fault.endswith(("broken", "open", "close", "pushed back")) else rows[0]
    solution = engine.singles(setup)
    bands: tuple[Band, ...] = engine.circuit.inputs["box.gate input"].bands
    chances = {}
    for band in bands:
        reading = bp.Reading("code", setup, subject="gate input", seen=band.meaning)
        chances[band.meaning] = float(chance_of(solution, reading)[row])
    best = max(chances, key=lambda k: chances[k])
    return best if chances[best] > 0.75 else "dead band"


POINTS = [
    (0.05, 8.150, 163_000),
    (0.10, 8.100, 81_000),
    (0.20, 8.000, 40_000),
    (0.35, 7.850, 22_429),
    (1.20, 7.000, 5_833),
    (1.65, 6.550, 3_970),
    (2.10, 6.100, 2_905),
    (6.0, 2.200, 367),
    (6.5, 1.700, 262),
    (7.0, 1.200, 171),
    (8.2, 0.0, 0),
]


@outside(SUBJECT, STANDARD, "mem + calc", figures=3, confidence="M")
@pytest.mark.parametrize(("current", "shown", "ohms"), POINTS)
def test_volts_and_external_resistance_at_a_current(current: float, shown: float, ohms: float) -> None:
    loop = Loop()
    assert loop.volts_at(current * 1e-3) == pytest.approx(shown, abs=1e-9)
    assert loop.external(current * 1e-3) == pytest.approx(ohms, abs=0.5)
    # The solved circuit with that resistance in the loop draws that current.
    solution = solve_sheet(sheet(f"{max(ohms, 0.001):g} ohm", ""), {"gate": "shut"})
    assert amps(solution, PULL_UP) * 1e3 == pytest.approx(current, rel=1.5e-3)
    entry = input_of(solution.stage.circuit, "gate input")
    assert entry is not None
    assert volts(solution, entry.node, entry.ground) == pytest.approx(shown, abs=6e-3)


@outside(SUBJECT, STANDARD, "mem", confidence="M")
def test_a_short_circuit_draws_8_2_milliamps() -> None:
    assert milliamps(sheet("0.001 ohm", ""), "shut") == pytest.approx(8.2, rel=NEAR)


SWITCHES = [
    (1_000, 10_000, 0.6833, 4.1000),
    (360, 5_600, 1.1782, 6.0294),
    (2_700, 18_000, 0.3779, 2.2162),
    (680, 8_200, 0.8300, 4.8810),
    (2_200, 12_000, 0.5395, 2.5625),
]


@outside(SUBJECT, STANDARD + "; resistor ranges of a maker's monitored switch", "seen + calc", figures=2)
@pytest.mark.parametrize(("series", "parallel", "opened", "closed"), SWITCHES)
def test_loop_current_of_a_monitored_switch(series: int, parallel: int, opened: float, closed: float) -> None:
    text = sheet(f"{series} ohm", f"{parallel} ohm")
    assert milliamps(text, "open") == pytest.approx(opened, abs=1.5e-4)
    assert milliamps(text, "shut") == pytest.approx(closed, rel=3e-4)
    found = supervise(series, parallel)
    assert found.open_amps * 1e3 == pytest.approx(opened, abs=5e-5)
    assert found.closed_amps * 1e3 == pytest.approx(closed, abs=5e-5)


@outside(SUBJECT, STANDARD, "seen + calc", figures=4)
def test_printed_resistor_limits_are_the_four_current_limits() -> None:
    # 5.6 to 18 kohm across the contact, 360 ohm to 2.7 kohm in series: their extremes land beside
    # 0.35, 1.2, 2.1 and 6 mA.
    light, heavy = supervise(2_700, 18_000), supervise(360, 5_600)
    for amps_of, limit in (
        (light.open_amps, 0.35e-3),
        (heavy.open_amps, 1.2e-3),
        (light.closed_amps, 2.1e-3),
        (heavy.closed_amps, 6e-3),
    ):
        assert amps_of == pytest.approx(limit, rel=0.085)
    assert light.open_amps > 0.35e-3
    assert heavy.open_amps < 1.2e-3
    assert light.closed_amps > 2.1e-3


@outside(SUBJECT, STANDARD + ", line resistance up to 50 ohm", "seen + calc", figures=2)
def test_closed_current_with_50_ohm_of_line() -> None:
    assert milliamps(sheet(line="50 ohm"), "shut") == pytest.approx(4.000, rel=NEAR)
    assert supervise(1e3, 1e4, line_ohms=50.0).closed_amps == pytest.approx(4.000e-3, rel=1e-12)


@outside(SUBJECT, STANDARD + ", insulation of 1 Mohm and more", "seen + calc", figures=2)
def test_leakage_at_the_insulation_limit_is_still_a_break() -> None:
    # The contact without its resistor stands open; 1 Mohm of leakage across the line.
    loop = Loop()
    assert loop.amps(1e6) == pytest.approx(8.19e-6, abs=5e-9)
    assert loop.region(loop.amps(1e6)) == "break"
    text = sheet("0.001 ohm", "1 Mohm")
    assert milliamps(text, "open") == pytest.approx(8.19e-3, abs=1e-5)
    assert meaning(text, "open") == "code break"


@outside(SUBJECT, STANDARD, "seen + calc", figures=2)
@pytest.mark.parametrize(
    ("fault", "open_means", "shut_means"),
    [
        ("", "open", "shut"),
        ("resistor Rs: open", "code break", "code break"),
        ("C1-1: pin pushed back", "code break", "code break"),
        ("gate switch: parallel resistor open", "code break", "shut"),
        ("gate switch: does not close", "open", "open"),
        ("gate switch: does not open", "shut", "shut"),
        ("wire C1-1 to resistor Rs: shorted to frame", "code short", "code short"),
        ("wire resistor Rs to gate switch: broken", "code break", "code break"),
    ],
)
def test_faults_fall_into_their_regions(fault: str, open_means: str, shut_means: str) -> None:
    text = sheet()
    assert meaning(text, "open", fault=fault) == open_means
    assert meaning(text, "shut", fault=fault) == shut_means


@outside(SUBJECT, STANDARD + ": switching between 1.2 and 2.1 mA", "seen", figures=2)
@pytest.mark.parametrize(
    ("amps_of", "region"),
    [
        (0.05e-3, "break"),
        (0.1e-3, "break"),
        (0.2e-3, "break"),
        (1.0e-3, "off"),
        (1.65e-3, "dead band"),
        (2.2e-3, "on"),
        (3.0e-3, "on"),
        (6.5e-3, "short"),
        (7.0e-3, "short"),
        (8.0e-3, "short"),
    ],
)
def test_published_currents_fall_into_their_regions(amps_of: float, region: str) -> None:
    # Break at most 0.1 or 0.2 mA, short from 6, 6.5 or 7 mA, about 8 mA into a short; a sensor draws
    # at most 1 mA actuated and 2.2 to 3 mA not actuated.
    loop = Loop()
    assert loop.region(amps_of) == region
    found = meaning(sheet(f"{loop.external(amps_of):.3f} ohm", ""), "shut")
    assert found == {"break": "code break", "off": "open", "on": "shut", "short": "code short"}.get(
        region, "dead band"
    )


@outside(SUBJECT, STANDARD + "; resistor ranges of a maker's monitored switch", "seen + calc", figures=3)
def test_which_pairs_are_accepted() -> None:
    assert supervise(1_000, 10_000).verdict == "fits"
    marginal = supervise(360, 5_600)
    assert marginal.verdict == "marginal"
    nearest = marginal.margins[0]
    assert (nearest.state, nearest.what, nearest.limit) == ("contact closed", "short", 6e-3)
    proposed = {(p.series_ohms, p.parallel_ohms) for p in supervising_pairs(number=12)}
    assert (1_000.0, 10_000.0) in proposed
    # No proposal leaves the printed ranges towards 360 ohm, 2.7 kohm or 18 kohm.
    assert all(360 < s <= 2_700 and p <= 18_000 for s, p in proposed)

"""Three bulbs on one battery: what a fault can do rules out what logic alone allows.

P. Struss and O. Dressler, Physical negation: integrating fault models into the general
diagnostic engine, 1989. Topology and the number 22 are [mem]; verified by enumeration. The
electrical figures are [calc].
"""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.diagnosis.minimal import hitting_sets, minimal_diagnoses
from tests.circuit.helpers import Bench, amps, exact_volts, volts
from tests.reference.books import outside

SUBJECT = "diagnoses with known answers"
PAPER = "Struss and Dressler 1989 (three bulbs)"

SHEET = """
sheet: three bulbs on one battery
system: 12 V
controls: {key: [on, off]}
runs:
  first: [battery+, wire W1 20 mohm, lamp B1 24 ohm, wire W2 20 mohm, battery-]
  second: [lamp B1.1, wire W3 20 mohm, lamp B2 24 ohm, wire W4 20 mohm, lamp B1.2]
  third: [lamp B2.1, wire W5 20 mohm, lamp B3 24 ohm, wire W6 20 mohm, lamp B2.2]
"""
WIRES = [f"wire W{i}: broken" for i in range(1, 7)]
BULBS = [f"lamp B{i}: burnt out" for i in range(1, 4)]
BATTERY = ["battery: low charge", "battery: weak under load"]
SEEN = "state: key on, all plugged\nlamp B1 dark\nlamp B2 dark\nlamp B3 lit"


@outside(SUBJECT, PAPER, "mem + calc", figures=22, confidence="M")
def test_without_fault_models_there_are_22() -> None:
    conflicts = (
        {"S", "W1", "W2", "B1"},
        {"S", "W1", "W2", "W3", "W4", "B2"},
        {"B2", "W5", "W6", "B3"},
        {"B1", "W3", "W4", "W5", "W6", "B3"},
    )
    found = hitting_sets(conflicts)
    assert len(found) == 22
    assert sorted(len(f) for f in found) == [2] * 10 + [3] * 12
    # Among them the absurd one: a battery that fails, and a bulb that lights without it.
    assert ("B3", "S") in found
    assert ("B1", "B2") in found


@outside(SUBJECT, PAPER, "mem + calc", confidence="M")
def test_with_fault_models_exactly_one_remains() -> None:
    sheet = bp.parse_sheet(SHEET)
    engine = bp.Engine(sheet, only={*WIRES, *BULBS, *BATTERY})
    assert len(engine.catalogue.modes) == 11
    assert minimal_diagnoses(engine, SEEN, most=3) == (("lamp B1: burnt out", "lamp B2: burnt out"),)


@outside(SUBJECT, PAPER, "mem + calc", confidence="M")
def test_ranking_names_the_two_bulbs_too() -> None:
    engine = bp.Engine(bp.parse_sheet(SHEET), only={*WIRES, *BULBS, *BATTERY})
    answer = bp.rank(engine, SEEN)
    # An eye may slip, so the ranking keeps each bulb alone in view; both lead, the battery is far below.
    assert {s.name for s in answer.suspects[:2]} == set(BULBS[:2])
    leads = next(e for e in range(answer.explanations.count) if len(answer.explanations.rows[e]) > 1)
    modes = [int(engine.catalogue.mode_of[r]) for r in answer.explanations.rows[leads]]
    assert [engine.catalogue.modes[m].name for m in modes] == BULBS[:2]
    rest = {s.name: s.probability for s in answer.suspects[2:]}
    assert max(rest.get(n, 0.0) for n in (*BATTERY, BULBS[2])) < 0.02


def ladder(*burnt: int) -> Bench:
    """12 V, bulbs of 24 ohm, every wire 20 mohm, without the bulbs that are burnt out."""
    bench = Bench()
    bench.source("battery", "+", "0", 12.0)
    before = ("+", "0")
    for k in (1, 2, 3):
        here = (f"a{k}", f"b{k}")
        bench.resistor(f"W{2 * k - 1}", before[0], here[0], 0.020)
        bench.resistor(f"W{2 * k}", here[1], before[1], 0.020)
        if k not in burnt:
            bench.resistor(f"B{k}", *here, 24.0)
        before = here
    return bench


@outside(SUBJECT, PAPER, "calc", figures=4)
@pytest.mark.parametrize(
    ("burnt", "shown", "total"),
    [
        ((), (11.94046, 11.90083, 11.88102), 1.48843),
        ((1, 2), (11.98010, 11.96020, 11.94030), 0.49751),
    ],
)
def test_volts_at_the_bulbs(burnt: tuple[int, ...], shown: tuple[float, ...], total: float) -> None:
    bench = ladder(*burnt)
    solution = bench.solve()
    exact = exact_volts(bench.elements.values())
    for k, expected in enumerate(shown, 1):
        assert volts(solution, f"a{k}", f"b{k}") == pytest.approx(expected, abs=6e-6)
        assert float(exact[f"a{k}"] - exact[f"b{k}"]) == pytest.approx(expected, abs=6e-6)
    assert amps(solution, "W1") == pytest.approx(total, abs=6e-6)

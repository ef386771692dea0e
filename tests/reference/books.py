"""How a figure of a book is held against exact arithmetic, and that against the solver.

The printed figure must equal exact rational arithmetic without the solver's leak, to its last
digit: so the oracle and the circuit are the book's. The solver must then equal the same
arithmetic with the leak, to 1e-9.
"""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from backprobe.circuit.setup import Attachment
from backprobe.circuit.solve import Solution
from tests.circuit.helpers import GROUND, Bench, Element, amps, exact_amps, exact_volts, volts

EXACT = 1e-9
LIGHT = 3e-6
"""What the leak and a stiff source may take from a circuit of some kilohms [relative]."""


def outside(
    subject: str, source: str, mark: str, *, figures: int = 1, confidence: str = "H"
) -> pytest.MarkDecorator:
    """Where the expected values of a test come from; `scripts/outside_checks.py` says what each means."""
    return pytest.mark.outside(
        subject=subject, source=source, mark=mark, figures=figures, confidence=confidence
    )


def printed(text: str) -> object:
    """A figure as a book prints it: right to half its last digit."""
    decimals = len(text.partition(".")[2])
    return pytest.approx(float(text), abs=0.5000001 * 10.0**-decimals)


def check_volts(
    bench: Bench, a: str, b: str, figure: str, *attached: Attachment, leak_takes: float = LIGHT
) -> None:
    """Volts from `a` to `b`: the book's figure, the exact value and the solver's agree."""
    elements = [*bench.elements.values(), *_as_elements(attached)]
    ideal, leaky = exact_volts(elements, leak=0.0), exact_volts(elements)
    node_a, node_b = (_datum(n) for n in (a, b))
    expected = float(ideal[node_a] - ideal[node_b])
    assert expected == printed(figure)
    found = volts(bench.solve(*attached), a, b)
    assert found == pytest.approx(float(leaky[node_a] - leaky[node_b]), rel=EXACT, abs=EXACT)
    assert found == pytest.approx(expected, rel=leak_takes, abs=leak_takes)


def check_amps(bench: Bench, branch: str, figure: str, *, per: float = 1.0) -> None:
    """Current through a branch, in units of `per` amperes: book, exact arithmetic and solver agree."""
    elements = list(bench.elements.values())
    ideal, leaky = exact_volts(elements, leak=0.0), exact_volts(elements)
    expected = float(exact_amps(bench.elements[branch], ideal)) / per
    assert expected == printed(figure)
    found = amps(bench.solve(), branch) / per
    assert found == pytest.approx(float(exact_amps(bench.elements[branch], leaky)) / per, rel=EXACT)
    assert found == pytest.approx(expected, rel=LIGHT)


def check_port(bench: Bench, a: str, b: str, open_volts: str, ohms: str) -> None:
    """Open-circuit volts and resistance of a port, as Thevenin's theorem has them."""
    check_volts(bench, a, b, open_volts)
    assert port_ohms(bench.solve(), a, b) == printed(ohms)


def port_ohms(solution: Solution, a: str, b: str) -> float:
    """Resistance seen between two nodes [ohm]."""
    circuit = solution.stage.circuit
    selector = circuit.pair(circuit.node(_datum(a)), circuit.node(_datum(b)))
    return float(solution.transfer(selector)[0] @ selector)


def _as_elements(attached: Iterable[Attachment]) -> list[Element]:
    return [Element(f"attached {i}", a.black, a.red, a.ohms, a.volts) for i, a in enumerate(attached)]


def _datum(name: str) -> str:
    return GROUND if name == "0" else name


def string(source: float, *ohms: float) -> Bench:
    """Resistors in series: node 1 at the source, then 2, 3, ..., the last one on the datum."""
    bench = Bench()
    bench.source("source", "1", "0", source)
    ends = [str(i + 1) for i in range(len(ohms))] + ["0"]
    for i, value in enumerate(ohms):
        bench.resistor(f"R{i + 1}", ends[i], ends[i + 1], value)
    return bench

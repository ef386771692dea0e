"""One doubtful reading beside the explanation that speaks against it: what the circuit would show instead."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import log, pi

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import VOLTMETER_OHMS, Setup
from backprobe.circuit.solve import Solution
from backprobe.circuit.stage import make_stage
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.predict import OVER_RANGE, noise_of, predict_number, predict_port, selector_of
from backprobe.readings.model import Reading
from backprobe.readings.points import passage
from backprobe.sheet.model import Sheet

LIVE_VOLTS = 5e-3
"""Volts between two points above which their ohms are no resistance [V]: at a test current of 0.1 to
1.5 mA they shift it by 3 to 50 ohm."""
POWERED_AMPS = 1e-3
"""Current somewhere in the circuit from which it counts as powered [A]."""


def log_density(value: float, mean: float, sd: float) -> float:
    """Natural logarithm of a normal density."""
    return -0.5 * ((value - mean) / sd) ** 2 - log(sd) - 0.5 * log(2 * pi)


@dataclass(slots=True, eq=False)
class SlipCase:
    """A numeric reading that does not fit, and the circuit as the other readings leave it.

    Parameters
    ----------
    answer
        The answer that it belongs to.
    reading
        The reading.
    values, variance
        ``(p,)`` parameters as the explanation has them, and their variance after the other readings.
    flat
        Log density of a number that may be anything.
    """

    answer: Answer
    reading: Reading
    values: Floats
    variance: Floats
    flat: float
    measured: float = 0.0
    own_variance: float = 0.0
    mean: float = 0.0
    sd: float = 1.0
    ohms: float = 0.0
    _solved: dict[Setup, Solution] = field(default_factory=dict)

    def __post_init__(self) -> None:
        measured, noise = noise_of([self.reading])
        self.measured, self.own_variance = float(measured[0]), float(noise[0, 0])
        self.mean, self.sd, self.ohms = self.predicted(self.reading)

    @property
    def engine(self) -> Engine:
        """The engine of the answer."""
        return self.answer.engine

    def solution(self, setup: Setup) -> Solution:
        """The circuit in a setup."""
        if setup not in self._solved:
            self._solved[setup] = solve_full(make_stage(self.engine.circuit, setup), self.values[None])
        return self._solved[setup]

    def predicted(self, reading: Reading) -> tuple[float, float, float]:
        """Mean and spread in the scale of the comparison, and the resistance behind the leads [ohm]."""
        solution = self.solution(reading.setup)
        p = predict_number(solution, reading)
        variance = float((p.loading[0] ** 2) @ self.variance + p.extra[0]) + self.own_variance
        ohms = 0.0
        if reading.kind != "amps":
            _, seen, _ = predict_port(solution, selector_of(self.engine.circuit, reading))
            ohms = float(seen[0])
        return float(p.mean[0]), variance**0.5, ohms

    def neighbours(self, terminal: str) -> Iterator[tuple[str, str]]:
        """Names and terminals that are easily taken for this one: other cavities, the part's other end."""
        sheet = self.engine.sheet
        owner, _, end = terminal.rpartition(".")
        part = sheet.parts.get(owner)
        if part is None:
            return
        if part.kind == "contact":
            plug = sheet.connectors[part.texts["connector"]]
            named = f" {end} side" if plug.name in self.reading.setup.unplugged else ""
            yield from ((f"{c}{named}", f"{c}.{end}") for c in plug.cavities if c != owner)
            return
        item = passage(owner, sheet)
        if item is not None and terminal in {item.enter, item.leave}:
            before = terminal == item.leave
            yield f"{'before' if before else 'after'} {owner}", item.enter if before else item.leave

    def leak(self) -> float:
        """Leak to the supply that would put the read volts on an open wire [ohm]; NaN where none can."""
        top = self.engine.sheet.system_volts
        return leak_behind(top, abs(self.measured)) if 0 < abs(self.measured) < top else float("nan")

    def volts_between(self) -> float:
        """Volts between the leads [V]: measured where they were, else predicted; 0 below `LIVE_VOLTS`."""
        volts = measured_between(self.answer, self.reading)
        if volts is None:
            solution = self.solution(self.reading.setup)
            selector = selector_of(self.engine.circuit, self.reading)
            volts = float(live_volts(solution, selector)[0])
        return volts if abs(volts) > LIVE_VOLTS else 0.0

    def powered(self) -> bool:
        """Whether a ground shift may stand between the leads while the reading is taken."""
        return may_shift(self.solution(self.reading.setup), self.reading)

    def on_output(self) -> bool:
        """Whether a lead is on a run that a controller's output drives."""
        driven = output_parts(self.engine.sheet)
        return any(t.rpartition(".")[0] in driven for t in (self.reading.red, self.reading.black))


def live_volts(solution: Solution, selector: Floats) -> Floats:
    """``(c,)`` volts of their own between two leads [V]; what only hangs on leaks counts as nothing."""
    volts, ohms, _ = predict_port(solution, selector)
    return np.where((ohms < OVER_RANGE) & (np.abs(volts) > LIVE_VOLTS), volts, 0.0)


def may_shift(solution: Solution, reading: Reading) -> bool:
    """Whether current flows in the circuit and both leads are joined to it: volts may stand between them.

    The two ends of an unplugged part hang free of the machine, whatever state it is in.
    """
    circuit = solution.stage.circuit
    flows = float(np.abs(solution.currents[0]).max(initial=0.0)) > POWERED_AMPS
    ground = circuit.node("battery.-") if "battery" in circuit.sheet.parts else -1
    ends = [circuit.node(t) for t in (reading.red, reading.black)]
    behind = [predict_port(solution, circuit.pair(n, ground))[1][0] for n in ends]
    return flows and max(behind) < OVER_RANGE


def ghost_volts(volts: float, leak: float) -> float:
    """What a meter shows on an open wire that a leak connects to a supply [V].

    Parameters
    ----------
    volts
        Of the supply [V].
    leak
        Resistance of the leak [ohm].
    """
    return volts * VOLTMETER_OHMS / (VOLTMETER_OHMS + leak)


def leak_behind(volts: float, shown: float) -> float:
    """The leak behind ghost volts [ohm]: the inverse of `ghost_volts`."""
    return VOLTMETER_OHMS * (volts / shown - 1)


def measured_between(answer: Answer, reading: Reading) -> float | None:
    """Volts that were measured between the leads of another reading, in its state and plugs [V]."""
    for other in answer.readings.numbers:
        same = {other.red, other.black} == {reading.red, reading.black}
        if other.kind == "volts" and same and _alike(other.setup, reading.setup):
            return other.value if other.red == reading.red else -other.value
    return None


def _alike(one: Setup, other: Setup) -> bool:
    return one.state == other.state and one.unplugged == other.unplugged


def output_parts(sheet: Sheet) -> frozenset[str]:
    """Parts on runs that begin or end at an output of a controller."""
    found: set[str] = set()
    for run in sheet.runs.values():
        pins = [(sheet.parts.get(i.part), i.enter.rpartition(".")[2]) for i in run.items]
        if any(part and pin in part.pins and part.pins[pin].role == "output" for part, pin in pins):
            found |= {i.part for i in run.items}
    return frozenset(found)

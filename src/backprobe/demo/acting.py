"""Acts out a fault: what a cheap meter and a pair of eyes show on an invented machine.

The readings of the demo are not made up by hand. The circuit is solved with the fault in it,
the meter adds its own gain error and rounds to its digits, and a lead in the wrong cavity
reads what is in that cavity.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from math import floor, log10

import numpy as np

from backprobe.circuit.compiled import Circuit, compile_sheet
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Solution
from backprobe.circuit.stage import make_stage
from backprobe.diagnosis.predict import LEADS, chance_of, predict_number
from backprobe.readings.lines import Context, context_after, parse_reading
from backprobe.readings.model import Reading
from backprobe.readings.points import find_point
from backprobe.sheet.functions import inputs_of
from backprobe.sheet.model import Sheet
from backprobe.units import format_quantity

COUNTS = 2000
"""Display counts of the meter: 19.99 V, then 200.0 V; a cheap handheld."""
LEAST_RANGE = {"volts": 20.0, "ohms": 200.0, "amps": 10.0}
"""The range the meter is left in for small values [V, ohm, A]."""
UNITS = {"volts": "V", "ohms": "ohm", "amps": "A"}


@dataclass(frozen=True, slots=True)
class Acted:
    """What is really wrong with an invented machine, and how far its meter is off.

    Parameters
    ----------
    fault
        ``part: mode`` of the cause.
    values
        Parameter key to its true value [own unit].
    gain
        Relative error of the meter [1].
    """

    fault: str
    values: Mapping[str, float]
    gain: float = 0.0


@dataclass(frozen=True, slots=True)
class Lead:
    """Where the leads really were when a reading was a slip; empty where they were right."""

    red: str = ""
    black: str = ""


@dataclass(slots=True)
class Machine:
    """One invented machine with its fault in it."""

    sheet: Sheet
    acted: Acted
    circuit: Circuit = field(init=False)
    _solved: dict[Setup, Solution] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.circuit = compile_sheet(self.sheet)

    def solved(self, setup: Setup) -> Solution:
        """The circuit in a setup, with the fault."""
        if setup not in self._solved:
            values = self.circuit.nominal[None].copy()
            for key, value in self.acted.values.items():
                values[0, self.circuit.parameter_of[key]] = value
            self._solved[setup] = solve_full(make_stage(self.circuit, setup), values)
        return self._solved[setup]

    def line(self, line: str, context: Context, really: Lead | None = None) -> tuple[str, Reading]:
        """A typed line with what the machine shows in the place of what it said.

        Parameters
        ----------
        line
            A reading line; its value or outcome is only a placeholder.
        context
            Operator state and plugs that the line need not repeat.
        really
            Where the leads were, if that was a slip.

        Returns
        -------
        str, Reading
            The line as the mechanic types it, and the reading it makes.
        """
        reading = parse_reading(line, self.sheet, context)
        first, comma, rest = line.partition(",")
        if reading.numeric:
            shown = f"{first.rpartition(':')[0]}: {self._number(self._moved(reading, really or Lead()))}"
        else:
            shown = f"{first[: _cut(first, reading)]} {self._seen(reading)}"
        whole = shown + comma + rest
        return whole, parse_reading(whole, self.sheet, context)

    def _moved(self, reading: Reading, really: Lead) -> Reading:
        def terminal(name: str, meant: str) -> str:
            point = find_point(name, self.sheet, reading.setup.unplugged) if name else None
            return point.terminal if point else meant

        return replace(
            reading, red=terminal(really.red, reading.red), black=terminal(really.black, reading.black)
        )

    def _number(self, reading: Reading) -> str:
        solution = self.solved(reading.setup)
        value = float(predict_number(solution, reading).mean[0])
        if reading.kind == "ohms":
            # The prediction is the logarithm with the leads in it; they read a little less here.
            value = float(np.exp(value)) - LEADS + 0.2
        return display(value * (1 + self.acted.gain), reading.kind)

    def _seen(self, reading: Reading) -> str:
        if reading.kind == "looked":
            touched = {key.partition(".")[0] for key in self.acted.values}
            part = self.acted.fault.partition(":")[0]
            return "corroded" if reading.subject == part and part in touched else "fine"
        solution = self.solved(reading.setup)
        chance = {
            seen: float(chance_of(solution, replace(reading, seen=seen))[0])
            for seen in outcomes(self.sheet, reading)
        }
        return max(chance, key=chance.__getitem__)


def outcomes(sheet: Sheet, reading: Reading) -> tuple[str, ...]:
    """Everything that a person could see where there is no number to read."""
    if reading.kind == "lamp":
        patterns = tuple(p for p, _ in sheet.lamps.get(reading.subject, ()))
        return (*patterns, "dark") if patterns else ("lit", "dim", "dark")
    if reading.kind == "code":
        return inputs_of(sheet)[reading.subject]
    return {
        "works": ("works", "dead"),
        "click": ("clicks", "does not click"),
        "tester": ("lit", "dim", "dark"),
    }[reading.kind]


def display(value: float, kind: str) -> str:
    """What the meter shows: the smallest range that holds the value, in `COUNTS` [V, ohm, A]."""
    size = max(abs(value), 1e-12)
    span = LEAST_RANGE[kind]
    while size >= span * (1 - 0.5 / COUNTS):
        span *= 10
    digit = span / COUNTS
    steps = round(value / digit)
    shown = steps * digit
    if steps == 0:
        return f"0 {UNITS[kind]}"
    digits = floor(log10(abs(shown))) - floor(log10(digit)) + 1
    return format_quantity(shown, UNITS[kind], digits=max(1, digits))


def act_out(sheet: Sheet, acted: Acted, lines: tuple[tuple[str, Lead | None], ...]) -> tuple[str, ...]:
    """The lines of a job, each with what the machine really shows.

    Parameters
    ----------
    lines
        Line and, for a slip, where the leads were.
    """
    machine = Machine(sheet, acted)
    readings: list[Reading] = []
    shown: list[str] = []
    for line, really in lines:
        whole, reading = machine.line(line, context_after(readings), really)
        shown.append(whole)
        readings.append(reading)
    return tuple(shown)


def _cut(text: str, reading: Reading) -> int:
    """Where the outcome begins in ``gate lamp 3 flashes``, ``relay K2 does not click``."""
    lower = text.lower()
    seen = ("does not click", "no click", reading.seen.lower())
    starts = [lower.rindex(" " + s) for s in seen if lower.endswith(" " + s)]
    return min(starts) if starts else len(text)

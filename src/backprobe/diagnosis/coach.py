"""What to mind before a reading is believed: only what applies to these leads, in this setup.

Each rule looks at the sound circuit in the setup and says what it has to say. A new rule is one
function and one entry of `RULES`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np

from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Solution
from backprobe.diagnosis.check import Check
from backprobe.diagnosis.checks import Candidate
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.predict import ohms_shown, predict_port, selector_of
from backprobe.diagnosis.seen import CLOSED_KINDS
from backprobe.diagnosis.slip_case import live_volts, may_shift, output_parts
from backprobe.diagnosis.word_checks import tender_parts
from backprobe.readings.lines import Context
from backprobe.readings.model import Reading
from backprobe.readings.planned import parse_planned
from backprobe.readings.points import find_point
from backprobe.sheet.model import Sheet
from backprobe.units import format_quantity

SMALL_OHMS = 5.0
"""Resistance below which the leads have to be taken off [ohm]; common practice, no source."""
FLOATS_FROM = 1e5
"""Resistance behind a point from which its volts may be a ghost [ohm]; common practice, no source."""
IDLE_AMPS = 2e-3
"""Current through a point below which its volts prove nothing about a joint [A]; common practice, no
source."""
CHANGED = 0.25
"""Share of the system's volts by which unplugging changes a point so far that it is said [1]."""


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to mind.

    Parameters
    ----------
    kind
        Name of the rule.
    text
        What to mind and what to do, in words.
    """

    kind: str
    text: str


OUTSIDE = Advice(
    "outside",
    "For this test only, and never to run the machine: a source or a jumper passes the guard by. "
    "Attachment on the ground or blocked, nobody near; take it off again.",
)


@dataclass(slots=True, eq=False)
class Planned:
    """A measurement in its setup, on the circuit as built."""

    engine: Engine
    reading: Reading
    solution: Solution
    volts: float = 0.0
    ohms: float = 0.0
    _plugged: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        volts, ohms, _ = predict_port(self.solution, selector_of(self.engine.circuit, self.reading))
        self.volts, self.ohms = float(volts[0]), float(ohms[0])

    @property
    def sheet(self) -> Sheet:
        """The sheet."""
        return self.engine.sheet

    @property
    def setup(self) -> Setup:
        """The setup."""
        return self.reading.setup

    def volts_plugged(self) -> float:
        """The same with everything plugged [V]."""
        if not self._plugged:
            setup = Setup(self.setup.state, frozenset(), self.setup.attached)
            solution = self.engine.sound(setup)
            self._plugged.append(
                float(predict_port(solution, selector_of(self.engine.circuit, self.reading))[0][0])
            )
        return self._plugged[0]

    def current_at(self, terminal: str) -> float:
        """Current that passes a point [A]."""
        node = self.engine.circuit.node(terminal)
        if node < 0:
            return float("inf")
        ends = np.abs(self.solution.stage.incidence[:, node])
        return float(np.abs(self.solution.currents[0]) @ ends) / 2

    def owners(self) -> tuple[str, str]:
        """Parts under the two leads."""
        return self.reading.red.rpartition(".")[0], self.reading.black.rpartition(".")[0]


Rule = Callable[[Planned], Iterator[Advice]]


def _live(p: Planned) -> Iterator[Advice]:
    if p.reading.kind not in {"ohms", "beeper"}:
        return
    volts = float(live_volts(p.solution, selector_of(p.engine.circuit, p.reading))[0])
    if volts:
        shown = format_quantity(abs(volts), "V")
        why = f"about {shown} stand between the leads"
    elif may_shift(p.solution, p.reading):
        why = "current flows in this state, and a ground shift of some millivolts is read as tens of ohms"
    else:
        return
    yield Advice("live", f"Key off and unplug before ohms: {why}. What the meter shows is no resistance.")


def _leads(p: Planned) -> Iterator[Advice]:
    reading = p.reading
    if reading.kind != "ohms" or reading.leads is not None or reading.over_range or any(_live(p)):
        return
    shown = float(np.abs(ohms_shown(reading, np.zeros(1), np.array([p.ohms]))[0][0]))
    read = reading.value if reading.numeric else shown
    if min(shown, read) < SMALL_OHMS:
        yield Advice(
            "leads",
            "Small ohms: hold the leads together first and type what they show, such as `leads together: "
            "0.3 ohm`; it is then taken off. Above 1 ohm replace the leads.",
        )


def _output(p: Planned) -> Iterator[Advice]:
    if p.reading.kind not in {"volts", "tester"} or not set(p.owners()) & output_parts(p.sheet):
        return
    for name in sorted(p.setup.unplugged):
        plug = p.sheet.connectors.get(name)
        if plug and plug.part in p.sheet.parts and p.sheet.parts[plug.part].kind == "controller":
            yield Advice(
                "output",
                f"{name} is off {plug.part}: an output exists only while its controller is plugged in and "
                f"powered. Plug {name} on and read at its rear; a dead reading here proves nothing.",
            )


def _not_neutral(p: Planned) -> Iterator[Advice]:
    if p.reading.kind != "volts" or not p.setup.unplugged:
        return
    plugged = p.volts_plugged()
    if abs(plugged - p.volts) > CHANGED * p.sheet.system_volts:
        now, then = (format_quantity(v, "V") if abs(v) > 5e-3 else "0 V" for v in (p.volts, plugged))
        off = " and ".join(sorted(p.setup.unplugged))
        yield Advice(
            "unplugged",
            f"Unplugged is not neutral: with {off} off a sound circuit shows {now} here, plugged {then}.",
        )


def _unloaded(p: Planned) -> Iterator[Advice]:
    volts = abs(p.volts) > 0.5 * p.sheet.system_volts
    if p.reading.kind != "volts" or not p.setup.unplugged or not volts:
        return
    if min(p.current_at(p.reading.red), p.current_at(p.reading.black)) > IDLE_AMPS:
        return
    tender = set(p.owners()) & tender_parts(p.sheet)
    load = "plug it on and read at the rear" if tender else "put a test lamp on it, or plug it on"
    yield Advice(
        "load", f"No current flows here: open-circuit volts prove nothing about a joint. Load it: {load}."
    )


def _frame(p: Planned) -> Iterator[Advice]:
    black = p.engine.circuit.node(p.reading.black)
    on_frame = p.reading.black == "frame" and black != p.engine.circuit.node("battery.-")
    if p.reading.kind in {"volts", "tester"} and on_frame and p.reading.red != "battery.-":
        yield Advice(
            "frame", "Black on the frame hides a bad return: put it on battery-, and read the frame as well."
        )


def _floating(p: Planned) -> Iterator[Advice]:
    if p.reading.kind == "volts" and p.ohms > FLOATS_FROM:
        load = "1 kohm across the leads" if set(p.owners()) & tender_parts(p.sheet) else "a test lamp"
        yield Advice(
            "ghost",
            "This point hangs free in a sound circuit: a meter of 10 Mohm may show ghost volts. Load it "
            f"with {load}, then read again.",
        )


def _outside(p: Planned) -> Iterator[Advice]:
    yield from _passed_by(p.setup)


def _inside(engine: Engine, reading: Reading) -> Iterator[Advice]:
    part = engine.sheet.parts.get(reading.subject)
    if reading.kind == "looked" and part is not None and part.kind in CLOSED_KINDS:
        yield Advice(
            "inside",
            f"What is worn inside {part.name} cannot be seen from outside: that it looks fine proves "
            "nothing. Look at how it sits, how it is reached, at its wires and its plug.",
        )


def _passed_by(setup: Setup) -> tuple[Advice, ...]:
    return (OUTSIDE,) if {a.kind for a in setup.attached} & {"source", "jumper"} else ()


RULES: tuple[Rule, ...] = (_live, _output, _not_neutral, _unloaded, _leads, _frame, _floating, _outside)


def coach(
    sheet: Sheet | Engine,
    line: str | Reading | Candidate | Check,
    context: Context | None = None,
    *,
    asked: bool = False,
) -> tuple[Advice, ...]:
    """What to mind about one measurement, before or after it was made.

    Parameters
    ----------
    sheet
        A sheet, or an `Engine` made from one.
    line
        A typed reading, the same still without its number (``ohms C2-1 to C3-1, key off, C2
        unplugged``), a reading, or a check.
    context
        Operator state and plugs that a typed line need not repeat.
    asked
        Whether the measurement was proposed, so that its leads are where a check wanted them.

    Raises
    ------
    ReadingError
        For a typed line that is not understood.
    """
    engine = sheet if isinstance(sheet, Engine) else Engine(sheet)
    reading = _as_reading(engine, line, context)
    rules = RULES
    if asked or isinstance(line, Candidate | Check):
        # Where a check has black was weighed: its own instruction is not to be contradicted.
        rules = tuple(r for r in RULES if r is not _frame)
    if not reading.red or not reading.black:
        return (*_inside(engine, reading), *_passed_by(reading.setup))
    planned = Planned(engine, reading, engine.sound(reading.setup))
    return tuple(dict.fromkeys(a for rule in rules for a in rule(planned)))


def coach_setup(engine: Engine, setup: Setup, black: str = "battery-") -> tuple[Advice, ...]:
    """What to mind about any volts in a setup, with black on one point.

    Parameters
    ----------
    black
        Name of the point.

    Raises
    ------
    KeyError
        For an unknown point.
    """
    foot = find_point(black, engine.sheet, setup.unplugged)
    if foot is None:
        raise KeyError(black)
    found: list[Advice] = []
    for name in sorted(setup.unplugged):
        plug = engine.sheet.connectors.get(name)
        if plug and plug.part in engine.sheet.parts and engine.sheet.parts[plug.part].kind == "controller":
            found.append(
                Advice(
                    "output",
                    f"{name} is off {plug.part}: its outputs and feeds exist only while it is plugged in and "
                    "powered.",
                )
            )
    if setup.unplugged:
        found.append(
            Advice(
                "load",
                "Open-circuit volts prove nothing about a joint: what is unplugged here has to be read "
                "once more with its load.",
            )
        )
    reading = Reading("volts", setup, "battery.+", foot.terminal)
    planned = Planned(engine, reading, engine.sound(setup))
    return (*found, *_frame(planned))


def _as_reading(engine: Engine, line: str | Reading | Candidate | Check, context: Context | None) -> Reading:
    if isinstance(line, Check):
        return line.candidate.as_reading()
    if isinstance(line, Candidate):
        return line.as_reading()
    return parse_planned(line, engine.sheet, context) if isinstance(line, str) else line

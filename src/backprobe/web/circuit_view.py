"""What the page shows of a job's circuit: the drawing with volts, leads, suspects, and a part's faults."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from backprobe.api import Answer, Check, Engine, Reading, predict
from backprobe.circuit.setup import Setup, make_setup
from backprobe.diagnosis.states import try_states
from backprobe.readings.points import find_point, reachable_points
from backprobe.report.drawing import draw
from backprobe.report.layout import percent
from backprobe.report.setup_words import setup_words
from backprobe.sheet.model import Sheet

SHOWN = 5
"""Suspects that are numbered in the drawing."""
LEAST = 0.02
"""Share from which a suspect is numbered [1]."""


@dataclass(frozen=True, slots=True)
class Place:
    """A point of the drawing with its volts to the battery's negative side [V], as text.

    `measured` is empty where nothing was read in this state.
    """

    name: str
    healthy: str
    measured: str


@dataclass(frozen=True, slots=True)
class Numbered:
    """A suspect as it is numbered in the drawing."""

    number: int
    part: str
    name: str
    share: str


@dataclass(frozen=True, slots=True)
class CircuitView:
    """The drawing and what belongs to it.

    Parameters
    ----------
    setups
        Setups to choose from, in words; `chosen` is the one that is drawn.
    leads
        Red and black of the next check where it is drawn; empty otherwise.
    """

    drawing: str
    setups: tuple[str, ...]
    chosen: int
    leads: tuple[str, str] | tuple[()]
    black: str
    suspects: tuple[Numbered, ...]
    places: tuple[Place, ...]
    parts: tuple[str, ...]
    drops: tuple[tuple[str, str, str], ...] = ()
    """Red, black and volts of what was read between two points in this state, neither of them `black`."""


def view_of(answer: Answer, check: Check | None, chosen: int = 0) -> CircuitView:
    """The circuit of an answer, with the leads of the check that comes next.

    Parameters
    ----------
    chosen
        Which setup to draw: 0 is that of the next check, then those of the readings, latest first.
    """
    engine, readings = answer.engine, answer.readings.all
    sheet = engine.sheet
    setups = _setups(engine, readings, check)
    chosen = chosen if 0 <= chosen < len(setups) else 0
    setup = setups[chosen]
    black = "battery-" if "battery" in sheet.parts else "frame"
    places = tuple(_places(engine, setup, black, readings))
    numbered = _numbered(answer)
    leads = _leads(check, setup)
    drops = tuple(_drops(engine, setup, black, readings))
    volts = {p.name: f"{p.healthy} / {p.measured}" if p.measured else p.healthy for p in places}
    for red, other, shown in drops:
        volts[red] = f"{volts[red]}; {shown} \u2192 {other}" if red in volts else f"{shown} \u2192 {other}"
    drawing = draw(
        sheet,
        suspects=[n.name for n in numbered],
        volts=volts,
        leads=leads or None,
        unplugged=setup.unplugged & set(sheet.connectors),
    )
    return CircuitView(
        drawing,
        tuple(setup_words(s, sheet) for s in setups),
        chosen,
        leads,
        black,
        numbered,
        places,
        tuple(_tappable(sheet)),
        drops,
    )


def setup_of(answer: Answer, check: Check | None, chosen: int) -> Setup:
    """The setup that `view_of` draws."""
    setups = _setups(answer.engine, answer.readings.all, check)
    return setups[chosen if 0 <= chosen < len(setups) else 0]


def _setups(engine: Engine, readings: Sequence[Reading], check: Check | None) -> list[Setup]:
    found = [check.candidate.setup] if check else []
    found += [r.setup for r in reversed(readings) if r.placed]
    plain = list(dict.fromkeys(Setup(s.state, s.unplugged) for s in found))
    return plain or [try_states(engine, every=False).best or make_setup(engine.sheet)]


def _leads(check: Check | None, setup: Setup) -> tuple[str, str] | tuple[()]:
    if check is None:
        return ()
    c = check.candidate
    here = (c.setup.state, c.setup.unplugged) == (setup.state, setup.unplugged)
    return (c.red.name, c.black.name) if here and c.red and c.black else ()


def _places(engine: Engine, setup: Setup, black: str, readings: Sequence[Reading]) -> list[Place]:
    foot = find_point(black, engine.sheet, setup.unplugged)
    names = {p.terminal: p.name for p in reachable_points(engine.sheet, setup.unplugged)}
    measured: dict[str, str] = {}
    for r in readings:
        plain = Setup(r.setup.state, r.setup.unplugged)
        if r.kind == "volts" and r.numeric and plain == setup and foot and r.black == foot.terminal:
            measured[names.get(r.red, r.red_name)] = shown_volts(r.value)
    sound = engine_of(engine, "")
    return [
        Place(e.point, shown_volts(e.volts), measured.get(e.point, ""))
        for e in predict(sound, setup, points=list(names.values()), black=black)
    ]


def _drops(
    engine: Engine, setup: Setup, black: str, readings: Sequence[Reading]
) -> Iterator[tuple[str, str, str]]:
    """What was read across a part or a joint, which no volts to one common point show."""
    foot = find_point(black, engine.sheet, setup.unplugged)
    names = {p.terminal: p.name for p in reachable_points(engine.sheet, setup.unplugged)}
    last: dict[tuple[str, str], str] = {}
    for r in readings:
        plain = Setup(r.setup.state, r.setup.unplugged)
        between = r.red in names and r.black in names and (foot is None or r.black != foot.terminal)
        if r.kind == "volts" and r.numeric and plain == setup and between:
            last[names[r.red], names[r.black]] = shown_volts(r.value)
    yield from ((red, other, shown) for (red, other), shown in last.items())


def engine_of(engine: Engine, part: str) -> Engine:
    """An engine for the faults of one part alone, or for one fault where none matters: many times quicker."""
    names = [m.name for m in engine.circuit.modes if m.part == part]
    return Engine(engine.sheet, only=names or [m.name for m in engine.circuit.modes[:1]])


def shown_volts(value: float) -> str:
    """Volts as they stand beside a point: to a hundredth, from 10 V on to a tenth [V]."""
    if abs(value) < 0.005:
        return "0 V"
    return f"{value:.1f} V" if abs(value) >= 10 else f"{value:.2f} V"


def _numbered(answer: Answer) -> tuple[Numbered, ...]:
    likely = [s for s in answer.suspects if s.probability >= LEAST][:SHOWN]
    parts: dict[str, Numbered] = {}
    for suspect in likely:
        # A set of faults is drawn by the part of its first one.
        part = suspect.names[0].partition(":")[0]
        known = part in answer.engine.sheet.parts
        if known and part not in parts:
            parts[part] = Numbered(len(parts) + 1, part, suspect.names[0], percent(suspect.probability))
    return tuple(parts.values())


def _tappable(sheet: Sheet) -> list[str]:
    drawn = [p.name for p in sheet.parts.values() if not p.implied]
    return drawn + [p.name for p in sheet.parts.values() if p.implied]

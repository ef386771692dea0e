"""One part of a job's circuit: its faults, how often each is found, and what each would do."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from backprobe.api import Answer, Check, Engine
from backprobe.circuit.setup import Setup
from backprobe.diagnosis.predict import function_works, predict_number
from backprobe.diagnosis.states import WORKS, guard_shut, try_states
from backprobe.readings.points import lug_name, reachable_points
from backprobe.report.layout import percent, quantity
from backprobe.report.setup_words import setup_words
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Sheet
from backprobe.web.circuit_view import engine_of, setup_of, shown_volts

Names = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FaultView:
    """One fault of a part and what it would do.

    Parameters
    ----------
    rate
        How often a mechanic finds it, in a thousand complaints [1].
    now
        Chance that its repair is the cure, as the readings leave it.
    stops, starts
        Functions that it would stop, and that it would let work.
    defeats
        Functions that it would let work while their guard is open, each with that guard.
    shows
        What the next check would show with it; empty where that is no number.
    """

    name: str
    mode: str
    rate: str
    why: str
    now: str
    stops: tuple[str, ...]
    starts: tuple[str, ...]
    defeats: tuple[str, ...]
    shows: str
    repair: str
    minutes: str


@dataclass(frozen=True, slots=True)
class PartView:
    """One part with all its faults, likeliest first.

    Parameters
    ----------
    state
        The operator state in which its faults are acted out, in words.
    sound
        What the next check shows on a sound circuit.
    """

    name: str
    kind: str
    state: str
    works: tuple[str, ...]
    sound: str
    faults: tuple[FaultView, ...]
    points: tuple[str, ...]


def part_of(answer: Answer, check: Check | None, name: str) -> PartView | None:
    """What is known of a part of the sheet; None when it has no part of that name."""
    part = answer.engine.sheet.parts.get(name)
    if part is None:
        return None
    engine = engine_of(answer.engine, name)
    setup = try_states(engine, every=False).best or setup_of(answer, check, 0)
    sound, acted = _working(engine, setup)
    shows = _shows(engine, check)
    held = _held_setups(engine, setup, sound)
    chance = {s.names[0]: s.probability for s in answer.suspects if len(s.names) == 1}
    ranked: list[tuple[float, float, FaultView]] = []
    for mode in engine.circuit.modes:
        if mode.part != name:
            continue
        then = acted[mode.name]
        fault = FaultView(
            mode.name,
            mode.mode,
            f"{mode.rate:g}",
            mode.why,
            percent(chance.get(mode.name, 0.0)),
            tuple(f for f in sound if f not in then),
            tuple(f for f in then if f not in sound),
            tuple(dict.fromkeys(words for f, words, freed in held if f in freed[mode.name])),
            shows.get(mode.name, ""),
            mode.repair,
            f"{mode.minutes:g} min",
        )
        ranked.append((-chance.get(mode.name, 0.0), -mode.rate, fault))
    ranked.sort(key=lambda r: r[:2])
    return PartView(
        name,
        part.kind,
        setup_words(setup, engine.sheet),
        sound,
        shows.get("", ""),
        tuple(fault for _, _, fault in ranked),
        tuple(_points_of(engine.sheet, name)),
    )


def _working(engine: Engine, setup: Setup) -> tuple[Names, dict[str, Names]]:
    """Functions that work in a setup: on a sound circuit, and with each fault at its middle severity."""
    solution = engine.singles(setup)
    alive = {f: function_works(solution, f) > WORKS for f in engine.sheet.functions}
    found: dict[str, Names] = {}
    for m, mode in enumerate(engine.catalogue.modes):
        rows = engine.catalogue.rows_of(m)
        row = int(rows[len(rows) // 2])
        found[mode.name] = tuple(f for f, works in alive.items() if works[row])
    return tuple(f for f, works in alive.items() if works[0]), found


def _held_setups(engine: Engine, setup: Setup, sound: Names) -> list[tuple[str, str, dict[str, Names]]]:
    """Functions that work in a setup and are held when one guard is opened: what each fault does then.

    Returns
    -------
    list of tuple
        Function, the function and the open guard in words, and what works there with each fault.
    """
    sheet = engine.sheet
    found = []
    for function in (sheet.functions[name] for name in sound):
        names = {a.subject for a in atoms(parse_rule(function.guard))} if function.guard else set()
        for control in (sheet.controls[n] for n in sorted(names) if n in sheet.controls):
            for position in control.positions:
                opened = setup.moved(control.name, position)
                if guard_shut(function, opened):
                    continue
                works, acted = _working(engine, opened)
                if function.name not in works:
                    found.append((function.name, f"{function.name}: {control.name} {position}", acted))
    return found


def _points_of(sheet: Sheet, name: str) -> list[str]:
    """Points at a part: its own ends and terminals, and the cavities of the plug it sits in."""
    plugs = {c.name for c in sheet.connectors.values() if c.part == name}
    own = {f"before {name}", f"after {name}", name, lug_name(name), f"{name} wire"}
    return [
        p.name
        for p in reachable_points(sheet)
        if p.name in own or p.name.startswith(f"{name}.") or p.connector in plugs
    ]


def _shows(engine: Engine, check: Check | None) -> dict[str, str]:
    """What the next check would show with each fault, and under the empty name on a sound circuit."""
    if check is None or check.candidate.red is None or check.candidate.black is None:
        return {}
    c = check.candidate
    if c.kind not in {"volts", "ohms"} or c.setup.attached:
        return {}
    # All faults at once: one after the other is as slow as there are faults.
    mean = predict_number(engine.singles(c.setup), c.as_reading()).mean
    found = {"": float(mean[0])}
    for m, mode in enumerate(engine.catalogue.modes):
        rows = engine.catalogue.rows_of(m)
        found[mode.name] = float(mean[rows[len(rows) // 2]])
    if c.kind == "ohms":
        return {name: quantity(exp(value), "ohm") for name, value in found.items()}
    return {name: shown_volts(value) for name, value in found.items()}

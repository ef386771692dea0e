"""In which operator states the functions of a sound circuit work, and whether a guard holds them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice, product

from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.predict import function_works
from backprobe.sheet.logic import PLAIN, atoms, evaluate, parse_rule
from backprobe.sheet.model import Function, Sheet

MOST_STATES = 1500
WORKS = 0.5


@dataclass(frozen=True, slots=True)
class States:
    """What was found out by putting every control in every position.

    Parameters
    ----------
    best
        The state nearest to rest in which most functions work; None when none works in any.
    works
        For each function the state nearest to rest in which it works; None when there is none.
    unguarded
        Functions that work although their guard is open, each with such a state.
    complete
        Whether every state was tried.
    """

    best: Setup | None
    works: dict[str, Setup | None]
    unguarded: dict[str, Setup]
    complete: bool


def operator_states(sheet: Sheet) -> Iterator[Setup]:
    """Every operator state, the one at rest first, then by how much it differs from it."""
    controls = sorted(sheet.controls.values(), key=lambda c: c.name)
    places = product(*(range(len(c.positions)) for c in controls))
    ordered = sorted(places, key=lambda at: (sum(k > 0 for k in at), sum(at), [-k for k in at]))
    for at in ordered:
        yield Setup(tuple((c.name, c.positions[k]) for c, k in zip(controls, at, strict=True)))


def try_states(engine: Engine, *, every: bool = True) -> States:
    """Put every control in every position and see what a sound circuit does.

    Parameters
    ----------
    every
        Whether to go on after a state in which all functions work; `States.unguarded` is only
        complete then.
    """
    functions = list(engine.sheet.functions.values())
    works: dict[str, Setup | None] = {f.name: None for f in functions}
    unguarded: dict[str, Setup] = {}
    best: tuple[int, Setup | None] = (0, None)
    states = iter(_countable(engine.sheet))
    for setup in islice(states, MOST_STATES):
        solution = engine.sound(setup)
        alive = [f for f in functions if function_works(solution, f.name)[0] > WORKS]
        held = [f for f in alive if guard_shut(f, setup)]
        for function in alive:
            if function not in held:
                unguarded.setdefault(function.name, setup)
            elif works[function.name] is None:
                works[function.name] = setup
        if len(held) > best[0]:
            best = (len(held), setup)
        if not every and len(held) == len(functions):
            break
    return States(best[1], works, unguarded, next(states, None) is None)


def guard_shut(function: Function, setup: Setup) -> bool:
    """Whether a function's guard is satisfied in a setup.

    Always so for a function without one, and for a guard that speaks of inputs: those are
    not known before the circuit is.
    """
    if not function.guard:
        return True
    rule, state = parse_rule(function.guard), dict(setup.state)
    if any(atom.subject not in state for atom in atoms(rule)):
        return True
    return evaluate(rule, lambda a: state[a.subject] == a.meaning, PLAIN)


def _countable(sheet: Sheet) -> Iterator[Setup]:
    total = 1
    for control in sheet.controls.values():
        total *= len(control.positions)
    if total <= 50 * MOST_STATES:
        yield from operator_states(sheet)
        return
    # Too many to sort: the first positions of each control still come near to rest.
    controls = sorted(sheet.controls.values(), key=lambda c: c.name)
    for positions in product(*(c.positions for c in controls)):
        yield Setup(tuple((c.name, p) for c, p in zip(controls, positions, strict=True)))


def works_with(engine: Engine, setup: Setup, fault: str = "") -> tuple[str, ...]:
    """Functions that work in a setup, in a sound circuit or with one fault at its middle severity.

    Parameters
    ----------
    fault
        ``part: mode``; empty for a sound circuit.
    """
    values = engine.circuit.nominal[None].copy()
    for m, mode in enumerate(engine.catalogue.modes):
        if mode.name == fault:
            rows = engine.catalogue.rows_of(m)
            row = int(rows[len(rows) // 2])
            values = engine.catalogue.changes.values(engine.circuit.nominal)[row : row + 1]
    solution = solve_full(engine.stage(setup), values)
    return tuple(n for n in engine.sheet.functions if function_works(solution, n)[0] > WORKS)

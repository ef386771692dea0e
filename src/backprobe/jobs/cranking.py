"""Whether an engine is cranked in the state of a try: found by solving the sound circuit, never guessed."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.cautions import START
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.guard_tries import GuardTry
from backprobe.diagnosis.predict import function_works
from backprobe.diagnosis.states import WORKS, guard_shut
from backprobe.sheet.model import Sheet
from backprobe.workbench.acts import STARTS

MUST, MUST_NOT, MAY = "must", "must not", "may"
"""What the engine does in a state of a sound machine: it cranks, it is held, or it may crank all the same."""


def cranks(sheet: Sheet, setup: Setup | None) -> bool:
    """Whether the state, or where none is known any control, is one in which an engine is cranked."""
    if setup is not None:
        return START in dict(setup.state).values()
    return any(START in control.positions for control in sheet.controls.values())


def alive(engine: Engine, setup: Setup, function: str) -> bool:
    """Whether the sound circuit lets a function work in a setup."""
    return bool(function_works(engine.sound(setup), function)[0] > WORKS)


def crankers(engine: Engine, tries: Sequence[GuardTry]) -> frozenset[str]:
    """Functions by which the engine is cranked.

    They work with a control at start and at no other place of it. Where some of these are named after a
    starter, only they are meant; else any of them may be what cranks.
    """
    sheet = engine.sheet
    starts = list(dict.fromkeys(t.setup for t in tries if t.setup is not None and cranks(sheet, t.setup)))
    found = {n for n in sheet.functions if any(_only_at_start(engine, s, n) for s in starts)}
    if cranks(sheet, None):
        # Where no state is known in which it works, its name is all there is.
        found |= {t.function for t in tries if t.works and t.setup is None and _named(sheet, t.function)}
    return frozenset(n for n in found if _named(sheet, n)) or frozenset(found)


def cranking(engine: Engine, own: Sequence[GuardTry], turning: Collection[str]) -> str:
    """What the engine does while functions are tried in one state; empty where it is no matter of it.

    Parameters
    ----------
    turning
        What cranks (`crankers`).
    """
    first, sheet = own[0], engine.sheet
    if first.setup is None:
        said = MUST if first.works else MUST_NOT
        return said if any(t.function in turning for t in own) else ""
    setup = first.setup
    if not turning or not cranks(sheet, setup):
        return ""
    # What runs with its guard open, as drawn, must not run all the same.
    free = [n for n in turning if guard_shut(sheet.functions[n], setup) and alive(engine, setup, n)]
    if not free:
        return MUST_NOT
    return MUST if first.works and len(free) == len(turning) else MAY


def _only_at_start(engine: Engine, setup: Setup, function: str) -> bool:
    if not alive(engine, setup, function):
        return False
    elsewhere = [
        setup.moved(name, other)
        for name, position in setup.state
        if position == START
        for other in engine.sheet.controls[name].positions
        if other != START
    ]
    return not any(alive(engine, s, function) for s in elsewhere)


def _named(sheet: Sheet, function: str) -> bool:
    return any(STARTS.search(n) for n in (function, *sheet.functions[function].loads))

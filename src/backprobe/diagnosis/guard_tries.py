"""What to try by hand after a repair: each way to open a guard on its own, then all of them shut.

Several guards open at once are tried only where the guard's own rule, or the circuit, answers them otherwise
than each alone says: where any fewer are allowed, and where two open guards let go what each alone holds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, product

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.guard_ways import ways_to_open
from backprobe.diagnosis.predict import function_works
from backprobe.diagnosis.states import WORKS, guard_shut, try_states
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Control, Function

EITHER_ALONE, ANY_FEWER, LET_GO = "either alone is allowed", "any fewer are allowed", "let go as drawn"
"""Why guards are tried open at once: they stand in for one another, or the circuit as drawn lets go."""
_TOGETHER = {1: "", 2: EITHER_ALONE}


@dataclass(frozen=True, slots=True)
class GuardTry:
    """One thing to try: a function in one operator state.

    Parameters
    ----------
    setup
        The operator state, everything plugged; None where the sheet does not say how to bring it about.
    open_guard
        The control and position that opens the guard, such as ``seat empty``; where the guard speaks of
        inputs, its own rule, which has to be made untrue; empty for the try with every guard shut.
    both
        Why guards are open at once: `EITHER_ALONE`, `ANY_FEWER` of three or more, or `LET_GO`; empty for one.
    """

    function: str
    setup: Setup | None
    open_guard: str = ""
    both: str = ""

    @property
    def works(self) -> bool:
        """Whether the function must work in it; else it must be held."""
        return not self.open_guard


def guard_tries(engine: Engine) -> tuple[GuardTry, ...]:
    """Every guard of every function, one way to open it at a time, then pairs, then the function."""
    works = try_states(engine).works
    return tuple(
        t for f in engine.sheet.functions.values() if f.guard for t in _of_function(engine, f, works[f.name])
    )


def _of_function(engine: Engine, function: Function, home: Setup | None) -> Iterator[GuardTry]:
    controls = engine.sheet.controls
    asked = list(dict.fromkeys(a.subject for a in atoms(parse_rule(function.guard))))
    if home is None or not set(asked) <= set(controls):
        yield GuardTry(function.name, None, function.guard)
        yield GuardTry(function.name, home)
        return
    places = {name: controls[name].positions for name in asked}
    ways = ways_to_open(parse_rule(function.guard), places, dict(home.state))
    for way in ways:
        setup = home
        for name, position in way:
            setup = setup.moved(name, position)
        told = " and ".join(f"{name} {position}" for name, position in way)
        yield GuardTry(function.name, setup, told, _TOGETHER.get(len(way), ANY_FEWER))
    yield from _pairs(engine, function, home, asked)
    yield GuardTry(function.name, home)


def _pairs(engine: Engine, function: Function, home: Setup, asked: list[str]) -> Iterator[GuardTry]:
    """Two controls moved at once, where that is answered otherwise than each alone says."""
    controls = engine.sheet.controls
    for one, other in combinations(asked, 2):
        for first, second in product(_others(controls[one], home), _others(controls[other], home)):
            each = (home.moved(one, first), home.moved(other, second))
            both = each[0].moved(other, second)
            told = f"{one} {first} and {other} {second}"
            if guard_shut(function, both):
                # Each alone would hold it, and the two together are a way to run that is meant.
                if not any(guard_shut(function, s) for s in each) and _runs(engine, function, both):
                    yield GuardTry(function.name, both)
            elif all(guard_shut(function, s) for s in each):
                continue  # One of the ways to open it.
            elif _runs(engine, function, both) and not all(_runs(engine, function, s) for s in each):
                yield GuardTry(function.name, both, told, LET_GO)


def _runs(engine: Engine, function: Function, setup: Setup) -> bool:
    """Whether the sound circuit lets a function run."""
    return bool(function_works(engine.sound(setup), function.name)[0] > WORKS)


def _others(control: Control, home: Setup) -> list[str]:
    """Positions of a control other than the one in which the function works."""
    return [p for p in control.positions if p != dict(home.state).get(control.name)] or [*control.positions]

"""What to try by hand after a repair: each guard open on its own, then all of them shut.

Two guards open at once are tried only where the circuit, or the guard's own rule, answers the two otherwise
than each alone says: where either alone is allowed, and where two open guards let go what each alone holds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations, product

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.predict import function_works
from backprobe.diagnosis.states import WORKS, guard_shut, try_states
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Control, Function

EITHER_ALONE, LET_GO = "either alone is allowed", "let go as drawn"
"""Why two guards are tried open at once: each stands in for the other, or the circuit as drawn lets go."""


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
        Why two guards are open at once, `EITHER_ALONE` or `LET_GO`; empty where they are not.
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
    """Every guard of every function, one position that opens it at a time, then pairs, then the function."""
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
    alone = {name: [p for p in controls[name].positions if _opens(function, home, name, p)] for name in asked}
    for name, positions in alone.items():
        for position in positions:
            yield GuardTry(function.name, home.moved(name, position), f"{name} {position}")
    pairs = list(_pairs(engine, function, home, asked))
    yield from pairs
    # Where more than two stand in for one another, only all of them together open it.
    paired = {n for p in pairs if p.both == EITHER_ALONE for n in _moved(p.setup, home)}
    rest = [n for n in asked if not alone[n] and n not in paired]
    together = home
    for name in rest:
        together = together.moved(name, _others(controls[name], home)[0])
    if not guard_shut(function, together):
        told = [f"{n} {dict(together.state)[n]}" for n in rest]
        yield GuardTry(function.name, together, " and ".join(told), EITHER_ALONE)
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
                yield GuardTry(function.name, both, told, EITHER_ALONE)
            elif _runs(engine, function, both) and not all(_runs(engine, function, s) for s in each):
                yield GuardTry(function.name, both, told, LET_GO)


def _runs(engine: Engine, function: Function, setup: Setup) -> bool:
    """Whether the sound circuit lets a function run."""
    return bool(function_works(engine.sound(setup), function.name)[0] > WORKS)


def _moved(setup: Setup | None, home: Setup) -> list[str]:
    """Controls that stand elsewhere than at home."""
    before = dict(home.state)
    return [n for n, p in setup.state if before.get(n) != p] if setup is not None else []


def _opens(function: Function, home: Setup, name: str, position: str) -> bool:
    return not guard_shut(function, home.moved(name, position))


def _others(control: Control, home: Setup) -> list[str]:
    """Positions of a control other than the one in which the function works."""
    return [p for p in control.positions if p != dict(home.state).get(control.name)] or [*control.positions]

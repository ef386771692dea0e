"""What to try by hand after a repair: each function with each of its guards open, then with all shut."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import guard_shut, try_states
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Function


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
    """

    function: str
    setup: Setup | None
    open_guard: str = ""

    @property
    def works(self) -> bool:
        """Whether the function must work in it; else it must be held."""
        return not self.open_guard


def guard_tries(engine: Engine) -> tuple[GuardTry, ...]:
    """Every guard of every function, one position that opens it at a time, then the function itself."""
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
    for name in asked:
        for position in controls[name].positions:
            opened = home.moved(name, position)
            if not guard_shut(function, opened):
                yield GuardTry(function.name, opened, f"{name} {position}")
    yield GuardTry(function.name, home)

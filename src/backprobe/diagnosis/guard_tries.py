"""What to try by hand after a repair: each guard of each function open on its own, then all of them shut."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import guard_shut, try_states
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Control, Function


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
    alone = {name: [p for p in controls[name].positions if _opens(function, home, name, p)] for name in asked}
    for name, positions in alone.items():
        for position in positions:
            yield GuardTry(function.name, home.moved(name, position), f"{name} {position}")
    # Where one guard stands in for another, only all of them together open it.
    if not all(alone.values()):
        together = home
        for name in asked:
            together = together.moved(name, (alone[name] or _others(controls[name], home))[0])
        if not guard_shut(function, together):
            moved = [f"{n} {dict(together.state)[n]}" for n in asked]
            yield GuardTry(function.name, together, " and ".join(moved))
    yield GuardTry(function.name, home)


def _opens(function: Function, home: Setup, name: str, position: str) -> bool:
    return not guard_shut(function, home.moved(name, position))


def _others(control: Control, home: Setup) -> list[str]:
    """Positions of a control other than the one in which the function works."""
    return [p for p in control.positions if p != dict(home.state).get(control.name)] or [*control.positions]

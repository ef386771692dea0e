"""What is odd about a circuit before it was measured: it works in no state, or a number cannot be so."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from backprobe.api import Engine
from backprobe.diagnosis.states import States, try_states
from backprobe.sheet.functions import is_guard
from backprobe.sheet.kinds import registry
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet
from backprobe.workbench.finding import Finding
from backprobe.workbench.sanity import sanity

_NO_GUARDS = frozenset({"key", "master"})


@dataclass(frozen=True, slots=True)
class Oddities:
    """What is odd about a circuit, as far as it can be known before anything was measured.

    Parameters
    ----------
    idle
        Functions that a sound circuit works in no operator state.
    numbers
        Values that cannot be so, or that hardly ever are.
    state
        Control to position, nearest to rest, in which most functions of a sound circuit work.
    """

    idle: tuple[str, ...] = ()
    numbers: tuple[Finding, ...] = ()
    state: tuple[tuple[str, str], ...] = ()


def oddities_of(sheet: Sheet | None) -> Oddities:
    """What is odd about a sheet; nothing where there is none."""
    return _oddities(sheet.text) if sheet is not None else Oddities()


def idle_functions(states: States) -> Iterator[str]:
    """Functions that work in no state at all, guarded or not."""
    for name, setup in states.works.items():
        if setup is None and states.complete and name not in states.unguarded:
            yield name


def unguarded_of(sheet: Sheet | None) -> tuple[str, ...]:
    """Functions for which no guard was found."""
    return tuple(f.name for f in sheet.functions.values() if not f.guard) if sheet is not None else ()


def could_guard(sheet: Sheet | None) -> tuple[str, ...]:
    """Switches that count as no guard so far, of which one may keep people safe; a key never does."""
    return tuple(
        part.name
        for part in (sheet.parts.values() if sheet is not None else ())
        if part.closed
        and registry().by_name[part.kind].operated
        and not any(c in _NO_GUARDS or is_guard(part, c) for c in part.closed)
    )


def numbers_of(sheet: Sheet) -> tuple[Finding, ...]:
    """Values of a sheet that cannot be so, or that hardly ever are."""
    return tuple(f for f in sanity(sheet) if not f.holds)


@lru_cache(maxsize=16)
def _oddities(text: str) -> Oddities:
    sheet = parse_sheet(text)
    numbers = numbers_of(sheet)
    if not sheet.functions:
        return Oddities(numbers=numbers)
    states = try_states(Engine(sheet), every=False)
    best = states.best.state if states.best else ()
    return Oddities(tuple(idle_functions(states)), numbers, tuple(best))

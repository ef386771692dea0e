"""What stands against handing a machine over: guards that failed or have no try, readings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.guard_tries import GuardTry, guard_tries
from backprobe.diagnosis.states import guard_shut
from backprobe.errors import JobError, Problem
from backprobe.jobs.log import JSON, Entry
from backprobe.readings.model import Reading
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Function

PROOF = "proof"
"""Kind of entry that says that a guard failed when it was tried."""
DO_NOT_HAND_OVER = "Do not hand the machine over: repair it, or take that entry back where it was wrong."
RUNS, DEAD = frozenset({"works", "clicks"}), frozenset({"dead", "does not click"})


@dataclass(frozen=True, slots=True)
class Against:
    """An entry that forbids to close a job as tried.

    Parameters
    ----------
    entry
        Its number.
    functions
        What it is about.
    state
        The operator state, or the rule that was made untrue.
    held
        Whether it worked where it must not; else it was dead where it must work.
    """

    entry: int
    functions: str
    state: str
    held: bool = True

    @property
    def words(self) -> str:
        """The entry, what it says and where."""
        if self.held:
            return (
                f"entry {self.entry} says that {self.functions} worked with {self.state}, where it must not"
            )
        return f"entry {self.entry} says that {self.functions} is dead with {self.state}, where it must work"


def failed_data(key: str, tries: Sequence[GuardTry], words: str) -> Mapping[str, JSON]:
    """The data of an entry that says that a guard failed.

    Parameters
    ----------
    key, tries
        Of the tick.
    words
        The tick in words.
    """
    first = tries[0]
    state = _state(first.setup) if first.setup is not None else f"the guard open (not: {first.open_guard})"
    names = [t.function for t in tries]
    return {"failed": key, "functions": _listed(names), "state": state, "words": words}


def failed_words(entry: Entry) -> str:
    """The tick of a guard that failed, in words; empty for any other entry."""
    return str(entry.data.get("words", "")) if entry.kind == PROOF and "failed" in entry.data else ""


def failed_guards(entries: Iterable[Entry], since: int) -> tuple[Against, ...]:
    """Guards that failed after an entry, of entries that stand."""
    return tuple(
        Against(e.number, str(e.data.get("functions", "")), str(e.data.get("state", "")))
        for e in entries
        if e.number > since and failed_words(e)
    )


def contradicted(
    engine: Engine, read: Sequence[tuple[int, Reading]], *, repaired: bool
) -> tuple[Against, ...]:
    """Readings that a try forbids: it worked with its guard open, or was dead last where it must work.

    Parameters
    ----------
    read
        Since the last repair, each with the number of its entry.
    repaired
        Whether there was a repair: before one the complaint itself is dead where it must work.
    """
    found, tries = [], guard_tries(engine) if repaired else ()
    for function in engine.sheet.functions.values():
        about = [(n, r) for n, r in read if _is_about(r, function)]
        found += [
            Against(n, function.name, _state(r.setup))
            for n, r in about
            if r.seen in RUNS and not guard_shut(function, r.setup)
        ]
        last = {r.setup.state: (n, r) for n, r in about if not r.setup.unplugged} if repaired else {}
        must = [t.setup for t in tries if t.function == function.name and t.works and t.setup]
        found += [
            Against(n, function.name, _state(r.setup), held=False)
            for n, r in last.values()
            if r.seen in DEAD and any(set(s.state) <= set(r.setup.state) for s in must)
        ]
    return tuple(sorted(found, key=lambda a: a.entry))


def check_against(against: Sequence[Against]) -> None:
    """Refuse to close as tried while something stands against it.

    Raises
    ------
    JobError
        Naming each entry and the state.
    """
    if against:
        raise JobError(*(Problem("tried", "", a.words, DO_NOT_HAND_OVER) for a in against))


def untried_guards(engine: Engine) -> tuple[str, ...]:
    """What a guard asks for and no try opens, such as ``lift: gate``: nobody is told how to try it."""
    tries, found = guard_tries(engine), []
    for function in engine.sheet.functions.values():
        own = [t for t in tries if t.function == function.name]
        held = [t for t in own if not t.works]
        if not function.guard or any(t.setup is None for t in held):
            continue
        home = {pair for t in own if t.works and t.setup is not None for pair in t.setup.state}
        moved = {c for t in held if t.setup is not None for c, p in t.setup.state if (c, p) not in home}
        asked = dict.fromkeys(a.subject for a in atoms(parse_rule(function.guard)))
        found += [f"{function.name}: {name}" for name in asked if name not in moved]
    return tuple(found)


def _is_about(reading: Reading, function: Function) -> bool:
    """Whether a reading says that a function runs or does not."""
    # With a jumper, a source or steel put to it, it is not the machine that is handed over.
    if reading.setup.attached:
        return False
    if reading.kind == "works":
        return reading.subject == function.name
    return reading.kind == "click" and function.loads == (reading.subject,)


def _state(setup: Setup) -> str:
    return _listed([f"{control} {position}" for control, position in setup.state])


def _listed(names: Sequence[str]) -> str:
    *most, last = names or [""]
    return f"{', '.join(most)} and {last}" if most else last

"""What functions do, and how a guard stands open, as people say it: ``nobody on the seat``."""

from __future__ import annotations

import re
from collections.abc import Sequence

from backprobe.circuit.setup import Setup
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Function, Sheet
from backprobe.workbench.claim_joins import listed

START = "start"
"""Position of a key in which an engine is cranked."""
STARTS = re.compile(r"\b(?:starter|engine|crank(?:ing)?)\b", re.I)
"""Names of functions by which an engine is cranked."""
EMPTY = frozenset({"empty", "left", "free", "up"})
"""Positions of a seat on which nobody sits."""


def act_words(functions: Sequence[Function], sheet: Sheet, state: Setup | None) -> str:
    """What functions do in an operator state: ``relay K2 clicks and the engine cranks``.

    Parameters
    ----------
    state
        None where it is not known.
    """
    cranks = _cranks(functions, sheet, state)
    others = [f for f in functions if not (cranks and STARTS.search(f.name))]
    acts = [_one(f, sheet, "clicks", "runs") for f in others]
    return listed([*acts, *(["the engine cranks"] if cranks else [])])


def never_words(functions: Sequence[Function], sheet: Sheet, state: Setup | None) -> str:
    """What functions would not even do: ``the engine would not even crank``."""
    if _cranks(functions, sheet, state):
        return "the engine would not even crank"
    return listed([_one(f, sheet, "would not even click", "would not even run") for f in functions])


def _one(function: Function, sheet: Sheet, clicks: str, runs: str) -> str:
    part = sheet.parts.get(function.name)
    return f"{function.name} {clicks if part is not None and part.kind == 'relay' else runs}"


def _cranks(functions: Sequence[Function], sheet: Sheet, state: Setup | None) -> bool:
    """Whether an engine is cranked: by its starter, or by a relay with the key at start."""
    started = any(STARTS.search(f.name) for f in functions)
    relays = any(f.name in sheet.parts and sheet.parts[f.name].kind == "relay" for f in functions)
    return started or (relays and state is not None and START in dict(state.state).values())


def open_words(guard: str, state: Setup) -> str:
    """How a guard stands open in an operator state: ``nobody on the seat and brake released``.

    A guard with ``or`` or ``not`` in it is told as what it needs.
    """
    plain = guard.replace(" is ", " ")
    if {"or", "not"} & set(plain.replace("(", " ").split()):
        return f"the guard open (it needs {plain})"
    at = dict(state.state)
    found = [
        _at(a.subject, at[a.subject])
        for a in atoms(parse_rule(guard))
        if a.subject in at and at[a.subject] != a.meaning
    ]
    return listed(list(dict.fromkeys(found))) or f"the guard open (it needs {listed(plain.split(' and '))})"


def _at(control: str, position: str) -> str:
    if control == "seat" and position in EMPTY:
        return "nobody on the seat"
    if control.endswith("lever") and position not in {"neutral", "released", "pulled"}:
        return f"{control} in {position}"
    return f"{control} {position}"

"""A sheet solved in one setup with some of its faults, and what two leads or an input then show."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from backprobe.circuit.compiled import Circuit, compile_sheet
from backprobe.circuit.setup import Attachment, make_setup
from backprobe.circuit.solve import Changes, Solution, solve_changes
from backprobe.circuit.stage import make_stage
from backprobe.sheet.anatomy import Mode
from backprobe.sheet.reader import parse_sheet

HELD = "target"


def mode_of(circuit: Circuit, name: str) -> Mode:
    """The fault of that name; a wrong name fails with the names there are."""
    found = {m.name: m for m in circuit.modes}
    assert name in found, sorted(found)
    return found[name]


def solved(
    text: str,
    state: Mapping[str, str],
    *faults: str,
    level: int = 0,
    held: str = "",
    unplugged: str = "",
) -> Solution:
    """A sheet in one setup with the named faults, each at its severity `level` (or its last)."""
    circuit = compile_sheet(parse_sheet(text))
    attached = (Attachment(HELD, held),) if held else ()
    away = frozenset({unplugged}) if unplugged else frozenset()
    stage = make_stage(circuit, make_setup(circuit.sheet, state, away, attached))
    changes: dict[str, float] = {}
    for fault in faults:
        grids = mode_of(circuit, fault).changes
        changes |= {key: grid[min(level, len(grid) - 1)] for key, grid in grids.items()}
    index = np.array([[circuit.parameter_of[k] for k in changes] or [-1]], np.int64)
    solution = solve_changes(stage, Changes(index, np.array([[*changes.values()] or [0.0]])))
    assert not solution.chatters[0]
    return solution


def volts(solution: Solution, red: str, black: str = "battery.-") -> float:
    """Red minus black [V]."""
    return float(solution.across(red, black)[0])


def amps(solution: Solution, branch: str) -> float:
    """Current through a branch from its beginning to its end [A]."""
    return float(solution.through(branch)[0])


def meaning(solution: Solution, name: str) -> str:
    """What a controller takes its input to mean; empty between the bands."""
    entry = solution.stage.circuit.inputs[name]
    level = volts(solution, entry.node, entry.ground)
    return next((b.meaning for b in entry.bands if b.low <= level < b.high), "")


def levels(text: str, fault: str) -> int:
    """How many severities a fault has."""
    mode = mode_of(compile_sheet(parse_sheet(text)), fault)
    return len(next(iter(mode.changes.values())))

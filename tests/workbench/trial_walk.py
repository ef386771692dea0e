"""An independent walk: what a cure does in every operator state, by full solves and plain Python only."""

from __future__ import annotations

from itertools import product
from pathlib import Path

from backprobe.circuit.compiled import Circuit, Floats, compile_sheet
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Attachment, Setup
from backprobe.circuit.solve import Solution
from backprobe.circuit.stage import make_stage
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet

HERE = Path(__file__).parent


def sheet_of(name: str) -> Sheet:
    """A sheet beside this file."""
    return parse_sheet((HERE / f"{name}.yaml").read_text(encoding="utf-8"), file=name)


def states_of(sheet: Sheet) -> list[dict[str, str]]:
    """Every operator state, control by control."""
    names = sorted(sheet.controls)
    return [
        dict(zip(names, at, strict=True)) for at in product(*(sheet.controls[n].positions for n in names))
    ]


def solved(
    circuit: Circuit,
    state: dict[str, str],
    attached: tuple[Attachment, ...] = (),
    unplugged: frozenset[str] = frozenset(),
    values: Floats | None = None,
) -> Solution:
    """Circuits in one state, each with a factorisation of its own; the sound one without values."""
    setup = Setup(tuple(sorted(state.items())), unplugged, attached)
    return solve_full(make_stage(circuit, setup), circuit.nominal[None] if values is None else values)


def volts(solution: Solution, red: str, black: str, row: int = 0) -> float:
    """Red minus black [V]."""
    circuit = solution.stage.circuit

    def at(name: str) -> float:
        node = circuit.node_of[name]
        return float(solution.volts[row, node]) if node >= 0 else 0.0

    return at(red) - at(black)


def works(solution: Solution, function: str, row: int = 0) -> bool:
    """Whether every load of a function sees the volts that it works from, through its own winding."""
    circuit = solution.stage.circuit
    for name in circuit.sheet.functions[function].loads:
        load = circuit.loads[name]
        b = circuit.branch_of[load.branch]
        branch = circuit.branches[b]
        needed = float(solution.values[row, circuit.parameter_of[load.volts]])
        amps, ohms = abs(float(solution.currents[row, b])), float(circuit.nominal[circuit.ohms_of[b]])
        if min(abs(volts(solution, branch.a, branch.b, row)), 1.3 * amps * ohms) < needed:
            return False
    return True


def let_go(solution: Solution, function: str, row: int = 0) -> bool:
    """Whether a function works, or its driver is on."""
    circuit = solution.stage.circuit
    for output in circuit.sheet.functions[function].drives:
        for i, device in enumerate(circuit.devices):
            if getattr(device, "output", "") == output and bool(solution.modes[row, i]):
                return True
    return works(solution, function, row)


def guard_is_shut(guard: str, state: dict[str, str]) -> bool:
    """A guard that joins its conditions with ``and`` only."""
    if not guard:
        return True
    for atom in guard.split(" and "):
        subject, _, meaning = atom.partition(" is ")
        if state[subject.strip()] != meaning.strip():
            return False
    return True


def opened(solution: Solution, state: dict[str, str], row: int = 0) -> set[str]:
    """Functions that are let go although their guard is open."""
    functions = solution.stage.circuit.sheet.functions
    return {n for n, f in functions.items() if not guard_is_shut(f.guard, state) and let_go(solution, n, row)}


def unasked(solution: Solution, alone: Solution, row: int) -> set[str]:
    """Functions that leads let go, which neither the sound circuit (row 0) nor the faulty one does."""
    functions = solution.stage.circuit.sheet.functions
    return {
        n
        for n in functions
        if let_go(solution, n, row) and not let_go(alone, n, 0) and not let_go(alone, n, row)
    }


def compiled(name: str) -> Circuit:
    """The circuit of a sheet beside this file."""
    return compile_sheet(sheet_of(name))

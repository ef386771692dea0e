"""One circuit of a sheet, sound or with one fault, solved in full."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from backprobe.circuit.compiled import Circuit, compile_sheet
from backprobe.circuit.full import solve_full
from backprobe.circuit.settle import rule_truth
from backprobe.circuit.setup import Attachment, make_setup
from backprobe.circuit.solve import Solution
from backprobe.circuit.stage import make_stage
from backprobe.sheet.reader import parse_sheet


def circuit_of(text: str) -> Circuit:
    """A sheet's text as a circuit."""
    return compile_sheet(parse_sheet(text))


def solved(
    circuit: Circuit,
    state: Mapping[str, str] | None = None,
    fault: str = "",
    *,
    level: int = -1,
    unplugged: Iterable[str] = (),
    attached: tuple[Attachment, ...] = (),
) -> Solution:
    """The circuit in one setup at its nominal values, with a fault (``part: mode``) at one severity."""
    values = circuit.nominal[None].copy()
    if fault:
        mode = next(m for m in circuit.modes if m.name == fault)
        for key, grid in mode.changes.items():
            values[0, circuit.parameter_of[key]] = grid[level]
    setup = make_setup(circuit.sheet, state, frozenset(unplugged), attached)
    return solve_full(make_stage(circuit, setup), values)


def volts(solution: Solution, red: str, black: str = "battery.-") -> float:
    """Volts between two terminals [V]."""
    return float(solution.across(red, black)[0])


def ohms(solution: Solution, red: str, black: str) -> float:
    """Resistance that two leads see [ohm]."""
    circuit = solution.stage.circuit
    selector = circuit.pair(circuit.node(red), circuit.node(black))
    return float((solution.transfer(selector) @ selector)[0])


def amps(solution: Solution, branch: str) -> float:
    """Current through a branch [A]."""
    return float(solution.through(branch)[0])


def is_true(solution: Solution, rule: str) -> bool:
    """Whether the controller takes a rule for true."""
    return bool(rule_truth(solution.stage, rule, solution.modes, solution.volts)[0])


def mode(solution: Solution, device: str) -> bool:
    """Mode of a device."""
    return bool(solution.modes[0, solution.stage.circuit.device_of[device]])

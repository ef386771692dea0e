"""A compiled circuit as plain tables: branches, gates, devices, inputs and rules, by number."""

from __future__ import annotations

from typing import Any

import numpy as np

from backprobe.circuit.compiled import Circuit
from backprobe.circuit.history import guard_state
from backprobe.diagnosis.predict import burn_limits
from backprobe.sheet.anatomy import (
    AtPosition,
    Attached,
    Driven,
    Gate,
    Idle,
    InMode,
    Input,
    Junction,
    Limiter,
    Melter,
    Memory,
    Puller,
    Supplied,
    Tripper,
    WhilePlugged,
)
from backprobe.sheet.driven_lamps import is_driven
from backprobe.sheet.latches import CLEAR, SET
from backprobe.sheet.logic import Both, Either, Is, Not, Rule, parse_rule

Table = dict[str, Any]


def circuit_table(circuit: Circuit) -> Table:
    """Everything that solving the circuit needs; parameters, branches, nodes and devices are numbers.

    A node of -1 is the datum, the battery's negative post; a parameter or device of -1 is none.
    """
    branches = circuit.branches
    limits = burn_limits(circuit)
    return {
        "nodes": circuit.size,
        "from": [circuit.node(b.a) for b in branches],
        "to": [circuit.node(b.b) for b in branches],
        "ohms": circuit.ohms_of.tolist(),
        "emf": circuit.emf_of.tolist(),
        "sign": circuit.emf_sign.tolist(),
        "amps": circuit.amps_of.tolist(),
        "gates": [[i, *_gate(circuit, g)] for i, b in enumerate(branches) for g in b.gates],
        "survives": [float(x) if np.isfinite(x) else None for x in limits],
        "nominal": circuit.nominal.tolist(),
        "spread": circuit.spread.tolist(),
        "logarithmic": circuit.logarithmic.astype(int).tolist(),
        "devices": [_device(circuit, i) for i in range(len(circuit.devices))],
        "inputs": {k.partition(".")[2]: _input(circuit, e) for k, e in reversed(circuit.inputs.items())},
        "loads": {
            name: {
                "branch": circuit.branch_of[load.branch],
                "volts": circuit.parameter_of[load.volts],
                "kind": load.kind,
            }
            for name, load in circuit.loads.items()
        },
        "functions": [
            {
                "name": f.name,
                "loads": list(f.loads),
                "releases": rule_table(f.releases),
                "guard": rule_table(f.guard),
                "drives": [
                    i for i, d in enumerate(circuit.devices) if isinstance(d, Driven) and d.output in f.drives
                ],
            }
            for f in circuit.sheet.functions.values()
        ],
        "lamps": {
            name: {
                "patterns": [[pattern, rule_table(rule)] for pattern, rule in patterns],
                "fed": is_driven(name, circuit.sheet.functions),
            }
            for name, patterns in circuit.sheet.lamps.items()
        },
        "latches": {
            latch.name: {
                "by": {s.control: s.position for s in latch.by},
                "before": guard_state(circuit.sheet, latch)
                | {s.control: s.position for s in latch.by}
                | {latch.name: CLEAR},
                "memory": _memory(circuit, latch.name),
            }
            for latch in circuit.sheet.latches.values()
        },
        "set": SET,
        "armatures": {
            key.removesuffix(".armature"): i
            for key, i in circuit.device_of.items()
            if key.endswith(".armature")
        },
        "melters": {
            branches[circuit.branch_of[d.branch]].owner: i
            for i, d in enumerate(circuit.devices)
            if isinstance(d, Melter)
        },
    }


def rule_table(text: str) -> list[Any] | None:
    """A rule as nested lists; None for an empty one, which always holds."""
    return _rule(parse_rule(text)) if text else None


def _rule(rule: Rule) -> list[Any]:
    match rule:
        case Is(subject, meaning):
            return ["is", subject, meaning]
        case Not(inner):
            return ["not", _rule(inner)]
        case Both(left, right):
            return ["and", _rule(left), _rule(right)]
        case Either(left, right):
            return ["or", _rule(left), _rule(right)]


def _gate(circuit: Circuit, gate: Gate) -> list[Any]:
    match gate:
        case AtPosition(control, positions, inverted):
            return ["position", inverted, control, sorted(positions)]
        case WhilePlugged(name):
            return ["plugged", False, name]
        case Attached(name, inverted):
            return ["held", inverted, name]
        case InMode(device, inverted):
            return ["mode", inverted, circuit.device_of[device]]


def _number(circuit: Circuit, device: str) -> int:
    return circuit.device_of[device] if device else -1


def _memory(circuit: Circuit, latch: str) -> int:
    found = [i for i, d in enumerate(circuit.devices) if isinstance(d, Memory) and d.latch == latch]
    return found[0] if found else -1


def _device(circuit: Circuit, number: int) -> Table:  # noqa: PLR0911  (one for each kind of device)
    device = circuit.devices[number]
    parameter, branch = circuit.parameter_of, circuit.branch_of
    match device:
        case Junction(_, b):
            return {"is": "junction", "branch": branch[b], "drop": int(circuit.emf_of[branch[b]])}
        case Limiter(_, b, _, amps, volts):
            return {"is": "limiter", "branch": branch[b], "amps": parameter[amps], "volts": parameter[volts]}
        case Supplied(_, a, other, volts):
            ends = {"from": circuit.node(a), "to": circuit.node(other)}
            return {"is": "supplied", **ends, "volts": parameter[volts]}
        case Puller(_, b, pull_in, drop_out):
            edges = {"pull": parameter[pull_in], "drop": parameter[drop_out]}
            return {"is": "puller", "branch": branch[b], **edges}
        case Melter(_, b, amps):
            return {"is": "melter", "branch": branch[b], "amps": parameter[amps]}
        case Tripper(_, b, amps):
            return {"is": "tripper", "branch": branch[b], "amps": parameter[amps]}
        case Idle(_, b, amps):
            return {"is": "idle", "branch": branch[b], "amps": parameter[amps]}
        case Driven(_, output, powered):
            functions = circuit.sheet.functions.values()
            rules = [rule_table(f.releases) for f in functions if output in f.drives]
            return {"is": "driven", "rules": rules, "powered": _number(circuit, powered)}
        case Memory(_, latch, powered):
            kept = circuit.sheet.latches[latch]
            rules = [rule_table(kept.sets), rule_table(kept.clears)]
            return {"is": "memory", "rules": rules, "powered": _number(circuit, powered)}


def _input(circuit: Circuit, entry: Input) -> Table:
    return {
        "node": circuit.node(entry.node),
        "ground": circuit.node(entry.ground),
        "bands": [
            {"low": b.low, "high": b.high, "means": b.meaning, "falling": list(b.falling or (b.low, b.high))}
            for b in entry.bands
        ],
        "powered": _number(circuit, entry.powered),
        "quiet": _number(circuit, entry.quiet),
        "tripped": _number(circuit, entry.tripped),
        "idle": _number(circuit, entry.idle),
    }

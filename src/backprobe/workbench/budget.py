"""The budget of a circuit: amperes of every load against fuse, driver, feed and wire."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import prod

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Setup, make_setup
from backprobe.circuit.solve import Solution
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import operator_states, try_states
from backprobe.readings.lines import parse_context
from backprobe.sheet.anatomy import Limiter, Melter, Tripper
from backprobe.sheet.model import Run, Sheet
from backprobe.workbench.budget_findings import judge
from backprobe.workbench.budget_lines import Draw, FuseLoad, RunDrop, Share
from backprobe.workbench.drain import days_to_flat
from backprobe.workbench.finding import Finding
from backprobe.workbench.supply import running_volts

INRUSH = 10.0
"""Current of a cold filament over that of a lit one; common practice, no source."""
CAPACITY = 70.0
"""Capacity of the battery where none is given [Ah]; common practice, no source."""
NEVER = 1e6
"""A limit that is never met [A]: the budget asks what would flow, not what is left after it."""
MOST_STATES = 300
"""Operator states that are tried for the heaviest."""
CONDUCTORS = frozenset({"wire", "contact", "ring", "strap", "splice", "fuse", "switch"})
PROTECTION = {"fuse": "element", "circuit breaker": "contact", "fusible link": "wire"}
"""Kinds that open on overload, with the branch that carries their current."""
LOADS = {"coil": "winding", "relay": "winding", "lamp": "filament"}
RESTED, AT_WORK, MOST, COLD = range(4)


@dataclass(frozen=True, slots=True)
class Budget:
    """Amperes of one operator state.

    Parameters
    ----------
    volts
        Rested and running volts that it was reckoned at [V].
    parked
        What the battery gives with every control at rest [A].
    days
        Until that has emptied a battery of `capacity` [Ah]; infinite for nothing.
    """

    sheet: Sheet
    setup: Setup
    volts: tuple[float, float]
    fuses: tuple[FuseLoad, ...]
    drivers: tuple[Share, ...]
    feeds: tuple[Share, ...]
    loads: tuple[Draw, ...]
    runs: tuple[RunDrop, ...]
    parked: float
    capacity: float
    days: float
    findings: tuple[Finding, ...]


def budget(
    sheet: Sheet | Engine, state: str | Mapping[str, str] | Setup | None = None, *, capacity: float = CAPACITY
) -> Budget:
    """Reckon what every fuse, driver, feed, load and run carries in an operator state.

    The circuit is solved with its fuses and feed limits taken as never reached, at the battery's rested
    volts, at running volts, with the lowest resistances that the sheet allows, and with cold filaments.

    Parameters
    ----------
    state
        Such as ``key on, seat seated``; else the state in which most functions work, or, where one
        works in none, the state in which the fuses carry most.
    capacity
        Of the battery, for the days until it is flat [Ah].

    Raises
    ------
    ReadingError
        For a state that the sheet does not know.
    """
    engine = sheet if isinstance(sheet, Engine) else Engine(sheet)
    setup = _setup(engine, state)
    values = _values(engine)
    solved = solve_full(engine.stage(setup), values)
    fuses, drivers, feeds = _fuses(engine, solved), _drivers(engine, solved), _feeds(engine, solved)
    loads = _loads(engine, solved)
    runs = tuple(r for run in engine.sheet.runs.values() if (r := _run(engine, solved, run)))
    rest = solve_full(engine.stage(make_setup(engine.sheet)), values[:1])
    batteries = _parts(engine.sheet, "battery")
    parked = sum(float(abs(rest.through(f"{name}.cell")[0])) for name in batteries)
    return Budget(
        engine.sheet,
        setup,
        _source_volts(engine, values),
        fuses,
        drivers,
        feeds,
        loads,
        runs,
        parked,
        capacity,
        days_to_flat(capacity, parked) if parked > 1e-6 else float("inf"),
        judge(engine.sheet, fuses, drivers, feeds, runs),
    )


def _setup(engine: Engine, state: str | Mapping[str, str] | Setup | None) -> Setup:
    if isinstance(state, Setup):
        return state
    if isinstance(state, str) and state.strip():
        context = parse_context(state, engine.sheet, file="state")
        return make_setup(engine.sheet, dict(context.state), context.unplugged)
    if state and not isinstance(state, str):
        return make_setup(engine.sheet, state)
    states = try_states(engine, every=False)
    # A function that works in no state may owe that to a fuse which its own load blows: look there.
    sound = all(found is not None for found in states.works.values())
    return states.best if states.best is not None and sound else heaviest(engine)


def heaviest(engine: Engine) -> Setup:
    """The operator state in which the fuses together carry most of their ratings, of the first states."""
    rest = make_setup(engine.sheet)
    if prod(len(c.positions) for c in engine.sheet.controls.values()) > MOST_STATES:
        return try_states(engine, every=False).best or rest
    values = _values(engine)[AT_WORK : AT_WORK + 1]
    ratings = {
        f"{p.name}.{PROTECTION[p.kind]}": p.values["rating"].nominal
        for p in engine.sheet.parts.values()
        if p.kind in PROTECTION
    }

    def load(setup: Setup) -> float:
        solved = solve_full(engine.stage(setup), values)
        return sum(float(abs(solved.through(n)[0])) / r for n, r in ratings.items())

    return max(operator_states(engine.sheet), key=load, default=rest)


def _values(engine: Engine) -> Floats:
    """``(4, p)`` parameter values: rested, running, running with the lowest ohms, running with cold lamps."""
    circuit = engine.circuit
    values: Floats = np.repeat(circuit.nominal[None], 4, axis=0)
    for i, parameter in enumerate(circuit.parameters):
        label = parameter.key.removeprefix(f"{parameter.owner}.")
        if label in {"winding ohms", "filament ohms", "draw ohms"}:
            values[MOST, i] = parameter.value.low
            values[COLD, i] /= INRUSH if label == "filament ohms" else 1.0
    for device in circuit.devices:
        if isinstance(device, Melter | Limiter | Tripper):
            values[:, circuit.parameter_of[device.amps]] = NEVER
    for name in _parts(engine.sheet, "battery"):
        values[1:, circuit.parameter_of[f"{name}.volts"]] = running_volts(engine.sheet.system_volts)
    return values


def _parts(sheet: Sheet, kind: str) -> list[str]:
    return [part.name for part in sheet.parts.values() if part.kind == kind]


def _source_volts(engine: Engine, values: Floats) -> tuple[float, float]:
    """Rested and running volts of the first source; a machine may have an alternator and no battery [V]."""
    name = [*_parts(engine.sheet, "battery"), *_parts(engine.sheet, "alternator")][0]
    column = values[:, engine.circuit.parameter_of[f"{name}.volts"]]
    return float(column[RESTED]), float(column[AT_WORK])


def _through(solved: Solution, key: str) -> tuple[float, float, float, float]:
    rested, running, most, cold = (float(abs(x)) for x in solved.through(key))
    return rested, running, most, cold


def _fuses(engine: Engine, solved: Solution) -> tuple[FuseLoad, ...]:
    found = []
    for part in engine.sheet.parts.values():
        if part.kind in PROTECTION:
            rated = part.values["rating"]
            amps = _through(solved, f"{part.name}.{PROTECTION[part.kind]}")
            assumed = rated.origin.kind == "default"
            found.append(FuseLoad(part.name, rated.nominal, assumed, *amps, kind=part.kind))
    return tuple(found)


def _drivers(engine: Engine, solved: Solution) -> tuple[Share, ...]:
    found = []
    for part in engine.sheet.parts.values():
        for pin in part.pins.values():
            if pin.role == "output":
                limit = pin.values.get("limit")
                amps = _through(solved, f"{part.name}.{pin.name} driver")
                found.append(Share(f"{part.name}.{pin.name}", limit.nominal if limit else None, *amps))
    return tuple(found)


def _feeds(engine: Engine, solved: Solution) -> tuple[Share, ...]:
    found = []
    for part in engine.sheet.parts.values():
        for pin in part.pins.values():
            if pin.role == "feed":
                amps = _through(solved, f"{part.name}.{pin.name}")
                limit = pin.values["limit"]
                known = limit.nominal if limit.origin.kind != "default" else None
                found.append(Share(f"{part.name}.{pin.name}", known, *amps))
    return tuple(found)


def _loads(engine: Engine, solved: Solution) -> tuple[Draw, ...]:
    circuit, found = engine.circuit, []
    for part in engine.sheet.parts.values():
        if part.kind not in LOADS:
            continue
        branch = circuit.branches[circuit.branch_of[f"{part.name}.{LOADS[part.kind]}"]]
        volts = float(abs(solved.across(branch.a, branch.b)[AT_WORK]))
        ohms = circuit.parameters[circuit.parameter_of[branch.ohms]].value.nominal
        found.append(Draw(part.name, part.kind, ohms, volts, *_through(solved, branch.key)))
    return tuple(found)


def _run(engine: Engine, solved: Solution, run: Run) -> RunDrop | None:
    """What the conductors of a run lose at running volts; None where next to nothing flows."""
    circuit = engine.circuit
    drops: list[tuple[float, float, str]] = []
    for item in run.items:
        part = engine.sheet.parts.get(item.part)
        if part is None or part.kind not in CONDUCTORS or item.enter == item.leave:
            continue
        own = [i for i, b in enumerate(circuit.branches) if b.owner == part.name]
        amps = float(np.abs(solved.currents[AT_WORK, own]).max(initial=0.0))
        if amps > 1e-3:
            drops.append((float(abs(solved.across(item.enter, item.leave)[AT_WORK])), amps, part.name))
    if not drops:
        return None
    lost, amps, name = max(drops)
    total, most = sum(d for d, _, _ in drops), max(a for _, a, _ in drops)
    return RunDrop(run.name, most, total, total / engine.sheet.system_volts, name, lost, lost * amps)

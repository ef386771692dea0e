"""The sweep: every join of a plug under every single fault in every operator state, judged together."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from backprobe.circuit.compiled import Bools, Floats, Ints
from backprobe.circuit.settle import Electrical, settle
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Changes, Solution, solve_changes, solve_full
from backprobe.circuit.stage import Stage, make_stage
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import guard_shut
from backprobe.errors import Problem
from backprobe.sheet.anatomy import OPEN
from backprobe.sheet.findings import nearest
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Sheet
from backprobe.workbench import verdict as v
from backprobe.workbench.claim_joins import Blocks, jumpers, partitions
from backprobe.workbench.claims import ClaimError
from backprobe.workbench.ports import Held, Ports
from backprobe.workbench.trial_effects import Seen, Watch
from backprobe.workbench.trial_limits import LEAD_AMPS

MOST_CAVITIES = 8
"""Cavities up to which every join is tried: eight have 4140."""
TOGETHER = 1000
"""Circuits that are settled together; their branch currents stay within some megabytes."""
AGREES = 1e-5
"""Volts that may be lost across a lead before a circuit is solved by itself [V]."""
THREADS = 2

Kept = dict[bytes, dict[bytes, Held]]
"""For each circuit that the leads meet, its faults solved for each set of modes."""


@dataclass(frozen=True, slots=True, eq=False)
class Sweep:
    """Every join of a plug judged under every fault in every operator state.

    Parameters
    ----------
    joins
        Blocks of cavities joined to each other, nothing joined first.
    faults
        Names (``part: mode``, at its middle severity); the first is a sound circuit.
    severity
        ``(state, j, f)`` place in `verdict.RANK`.
    """

    states: tuple[Setup, ...]
    joins: tuple[Blocks, ...]
    faults: tuple[str, ...]
    severity: Ints


def middle_rows(engine: Engine) -> tuple[tuple[str, ...], Changes]:
    """A sound circuit, then every single fault at its middle severity."""
    catalogue = engine.catalogue
    rows = [0]
    for m in range(len(catalogue.modes)):
        own = catalogue.rows_of(m)
        rows.append(int(own[len(own) // 2]))
    changes = Changes(catalogue.changes.index[rows], catalogue.changes.value[rows])
    return ("nothing wrong", *(m.name for m in catalogue.modes)), changes


def sweep(
    engine: Engine, plug: str, *, unplugged: bool = True, watch: Watch | None = None, threads: int = THREADS
) -> Sweep:
    """Judge every join of a plug under every single fault in every operator state.

    Parameters
    ----------
    plug
        Name of the connector.
    unplugged
        Whether it is off, and the leads in its machine side.

    Raises
    ------
    ClaimError
        When there is no such plug, or it has more than `MOST_CAVITIES` cavities.
    """
    cavities = _cavities(engine.sheet, plug)
    watch = watch or Watch(engine)
    faults, changes = middle_rows(engine)
    joins = tuple(partitions(cavities))
    work = _Work(engine, watch, changes, plug if unplugged else "", cavities, joins)
    states = watch.limits.states
    severity: Ints = np.zeros((len(states), len(joins), len(faults)), np.int64)
    bundles: dict[bytes, dict[bytes, list[int]]] = {}
    for i, state in enumerate(states):
        circuit, signature = work.signature(state, latent=False)
        bundles.setdefault(circuit, {}).setdefault(signature, []).append(i)

    def judge(bundle: dict[bytes, list[int]]) -> None:
        """States that share a circuit share its solved faults, which are let go after them."""
        kept: Kept = {}
        for own in bundle.values():
            severity[own] = work.judge([states[i] for i in own], kept)

    with ThreadPoolExecutor(max(1, threads)) as pool:
        list(pool.map(judge, bundles.values()))
    return Sweep(states, joins, faults, severity)


def _cavities(sheet: Sheet, plug: str) -> tuple[str, ...]:
    if plug not in sheet.connectors:
        remedy = nearest(plug, sheet.connectors) or "This sheet has no plugs."
        raise ClaimError(Problem("plug", plug, "is not a plug of this sheet", remedy))
    cavities = sheet.connectors[plug].cavities
    if len(cavities) > MOST_CAVITIES:
        remedy = f"Give the joins that were proposed; up to {MOST_CAVITIES} cavities all are tried."
        raise ClaimError(
            Problem("plug", plug, f"has {len(cavities)} cavities, too many joins to try", remedy)
        )
    return cavities


class _Work:
    """What every operator state of a sweep shares."""

    def __init__(
        self,
        engine: Engine,
        watch: Watch,
        changes: Changes,
        plug: str,
        cavities: tuple[str, ...],
        joins: tuple[Blocks, ...],
    ) -> None:
        self.engine, self.watch, self.changes, self.plug = engine, watch, changes, plug
        self.joins = joins
        place = {c: t for t, c in enumerate(cavities)}
        self.nodes: Ints = np.array([engine.circuit.node(f"{c}.machine") for c in cavities], np.int64)
        most = max(1, len(cavities) - 1)
        self.leads: Ints = np.full((len(joins), most, 2), -1, np.int64)
        for j, blocks in enumerate(joins):
            ends = [(place[a], place[b]) for block in blocks for a, b in pairwise(block)]
            for k, pair in enumerate(ends):
                self.leads[j, k] = pair

        rules = [f.releases for f in engine.sheet.functions.values()]
        rules += [r for latch in engine.sheet.latches.values() for r in (latch.sets, latch.clears)]
        rules += [r for patterns in engine.sheet.lamps.values() for _, r in patterns]
        subjects = {a.subject for r in rules if r for a in atoms(parse_rule(r))}
        self.named = sorted(subjects & set(engine.sheet.controls))
        """Controls that rules speak of; the others act through contacts alone."""

    def stage(self, state: Setup) -> Stage:
        """The circuit in an operator state, with the plug off where it is."""
        return make_stage(self.engine.circuit, state.without(self.plug) if self.plug else state)

    def alive(self, stage: Stage, *, latent: bool) -> Bools:
        """``(b,)`` branches that can feel the leads or the battery: connected to them, modes aside.

        Parameters
        ----------
        latent
            Whether a connection counts that is only there with a fault.
        """
        begin, end = np.array([self._ends(row) for row in stage.incidence], np.int64).T
        closed = ~stage.open_always
        if not latent:
            closed[: len(stage.circuit.branches)] &= (
                self.engine.circuit.nominal[stage.circuit.ohms_of] < OPEN / 2
            )
        reached = np.zeros(stage.circuit.size + 1, bool)
        reached[self.nodes] = True
        reached[-1] = True
        while True:
            touched = closed & (reached[begin] | reached[end])
            before = int(reached.sum())
            reached[begin[touched]] = reached[end[touched]] = True
            if int(reached.sum()) == before:
                # A latent connection within what is reached is felt too.
                result: Bools = touched | (~stage.open_always & reached[begin] & reached[end])
                return result

    @staticmethod
    def _ends(row: Floats) -> tuple[int, int]:
        one, other = np.flatnonzero(row > 0), np.flatnonzero(row < 0)
        return int(one[0]) if one.size else -1, int(other[0]) if other.size else -1

    def signature(self, state: Setup, *, latent: bool) -> tuple[bytes, bytes]:
        """Alike for operator states in which the leads meet the same circuit, and the same rules with it."""
        stage = self.stage(state)
        circuit = self.alive(stage, latent=latent).tobytes()
        if stage.before is not None:
            return circuit, repr(state.state).encode()
        return circuit, repr([state.position(c) for c in self.named]).encode()

    def judge(self, states: Sequence[Setup], kept: Kept) -> Ints:
        """``(state, j, f)`` severity in operator states of one signature."""
        befores = [
            self.watch.see(solve_changes(make_stage(self.engine.circuit, s), self.changes), s) for s in states
        ]
        stage = self.stage(states[0])
        felt = self._felt(self.alive(stage, latent=False))
        near = np.flatnonzero(felt)
        far = np.flatnonzero(self._felt(self.alive(stage, latent=True)) & ~felt)
        result: Ints = np.zeros((len(states), len(self.joins), self.changes.count), np.int64)
        # Faults that the leads cannot feel leave the circuit as the sound one is.
        rest = np.setdiff1d(np.arange(self.changes.count), np.concatenate([near, far]))
        self._fill(result, range(len(states)), (states, befores), (near, rest), kept)
        # What only a fault connects differs from state to state.
        for own in self._apart(states) if far.size else ():
            self._fill(result, own, (states, befores), (far, far[:0]), {})
        return result

    def _fill(
        self,
        result: Ints,
        own: Sequence[int],
        known: tuple[Sequence[Setup], Sequence[Seen]],
        faults: tuple[Ints, Ints],
        kept: Kept,
    ) -> None:
        """Severity of some faults in states ``own`` that are alike, and of others like the first."""
        states, befores = known
        solved, alike = faults
        stage = self.stage(states[own[0]])
        some = Changes(self.changes.index[solved], self.changes.value[solved])
        ports = _stack(stage, self, some, kept)
        step = max(1, TOGETHER // len(solved))
        for start in range(0, len(self.joins), step):
            joins = np.arange(start, min(start + step, len(self.joins)))
            fault, join = np.repeat(np.arange(len(solved)), joins.size), np.tile(joins, len(solved))
            seen = self._see(ports, fault, join, states[own[0]])
            for i in own:
                state, before = states[i], befores[i]
                result[i, joins[:, None], solved] = self._level(seen, state, before, solved)
                if alike.size:
                    copied = seen.taken(np.tile(np.arange(joins.size), alike.size))
                    result[i, joins[:, None], alike] = self._level(copied, state, before, alike)

    def _level(self, seen: Seen, state: Setup, before: Seen, faults: Ints) -> Ints:
        """``(j, f)`` severity of what was seen, fault by fault, in an operator state of its own."""
        joins = len(seen.released) // len(faults)
        shut = np.array([guard_shut(f, state) for f in self.watch.functions], bool)
        rows = np.repeat(faults, joins)
        found = v.severity(replace(seen, shut=shut), before.taken(rows), before.released[0])
        result: Ints = found.reshape(len(faults), joins).T
        return result

    def _apart(self, states: Sequence[Setup]) -> list[list[int]]:
        """Places of states, those together that are alike also where only a fault connects."""
        groups: dict[tuple[bytes, bytes], list[int]] = {}
        for i, state in enumerate(states):
            groups.setdefault(self.signature(state, latent=True), []).append(i)
        return list(groups.values())

    def _felt(self, alive: Bools) -> Bools:
        """``(f,)`` faults that change something which the leads can feel; the sound circuit counts too."""
        circuit = self.engine.circuit
        base = len(circuit.branches)
        on: set[int] = set()
        used: set[int] = set()
        for links in (circuit.ohms_of, circuit.emf_of, circuit.amps_of):
            used |= set(links.tolist())
            on |= set(links[alive[:base]].tolist())
        thresholds = set(range(len(circuit.parameters))) - used
        felt = on | thresholds
        return np.array(
            [i == 0 or bool(felt & (set(row) - {-1})) for i, row in enumerate(self.changes.index.tolist())]
        )

    def _see(self, ports: list[Ports], fault: Ints, join: Ints, state: Setup) -> Seen:
        """Circuits settled and judged; those that lost too many digits are solved by themselves."""
        solution, amps, poor = _settled(ports, fault, join)
        seen = self.watch.see(solution, state)
        ratio = np.abs(amps) / LEAD_AMPS
        for c in np.flatnonzero(poor).tolist():
            leads = tuple(a for b in self.joins[join[c]] for a in jumpers([f"{x}.machine" for x in b]))
            whole = replace(ports[-1].stage.setup, attached=leads)
            alone = solve_full(make_stage(self.engine.circuit, whole), ports[-1].values[fault[c]][None])
            seen.put(c, self.watch.see(alone, state))
            ratio[c] = 0.0
            ratio[c, : len(leads)] = np.abs(alone.currents[0, -len(leads) :]) / LEAD_AMPS if leads else 0.0
        return seen.with_leads(ratio)


def _stack(stage: Stage, work: _Work, changes: Changes, kept: Kept) -> list[Ports]:
    """Ports of a stage, after those of what was done just before it."""
    earlier: list[Ports] = []
    if stage.before is not None:
        earlier = _stack(stage.before, work, changes, kept)
    key = work.alive(stage, latent=True).tobytes()
    return [*earlier, Ports(stage, changes, work.nodes, work.leads, kept.setdefault(key, {}))]


def _settled(ports: list[Ports], fault: Ints, join: Ints) -> tuple[Solution, Floats, Bools]:
    """Circuits with a fault and a join each, their lead currents, and which of them lost too many digits."""
    modes: Bools | None = None
    for here in ports:
        stage = here.stage

        def solver(want: Bools, rows: Ints, here: Ports = here) -> Electrical:
            return here.quick(want, fault[rows], join[rows])

        settled = settle(stage, len(fault), solver, modes)
        modes = settled.modes
    assert modes is not None
    volts, amps = here.volts(modes, fault, join)
    siemens, driven = stage.held(here.closed.at(fault), stage.conducting(modes))
    poor = here.lost(volts, amps, join) > AGREES
    solution = Solution(
        stage,
        here.values[fault],
        volts,
        siemens,
        driven,
        here.currents(volts, siemens, driven),
        modes,
        settled.chatters,
        settled.alternating,
        _no_transfer,
    )
    return solution, amps, poor


def _no_transfer(selector: Floats) -> Floats:
    raise TypeError("circuits of a sweep keep no inverse")

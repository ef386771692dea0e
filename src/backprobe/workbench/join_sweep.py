"""The sweep: every join of a plug under every single fault in every operator state, judged together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from backprobe.circuit.compiled import Floats, Ints
from backprobe.circuit.narrow import narrowed
from backprobe.circuit.settle import Settled
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Changes, Solution
from backprobe.circuit.stage import Stage, make_stage
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import guard_shut
from backprobe.errors import Problem
from backprobe.sheet.findings import nearest
from backprobe.sheet.model import Sheet
from backprobe.workbench import verdict as v
from backprobe.workbench.claim_joins import Blocks, partitions
from backprobe.workbench.claims import ClaimError
from backprobe.workbench.join_reach import Reach
from backprobe.workbench.join_twins import history, rules_of, settle_joins
from backprobe.workbench.join_watch import narrowed_watch
from backprobe.workbench.ports import Points, Ports
from backprobe.workbench.trial_effects import Seen, Watch
from backprobe.workbench.trial_limits import LEAD_AMPS

MOST_CAVITIES = 8
"""Cavities up to which every join is tried: eight have 4140."""
SETTLED = 8000
"""Circuits that are settled together."""
JUDGED = 2000
"""Circuits that are judged together; what they carry stays within some megabytes."""
THREADS = 2


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


@dataclass(frozen=True, slots=True, eq=False)
class _Task:
    """Some faults in states whose leads meet one circuit.

    Parameters
    ----------
    bundle
        Places of states, those together whose rules are one too.
    faults
        Faults that are solved.
    alike
        Faults whose circuits are as that of the first.
    """

    bundle: list[list[int]]
    faults: Ints
    alike: Ints


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
    reach, points = place(engine, plug, joins, unplugged=unplugged)
    work = _Work(reach, watch, changes, points)
    with ThreadPoolExecutor(max(1, threads)) as pool:
        work.befores = list(pool.map(work.before, watch.limits.states))
        list(pool.map(work.do, work.tasks()))
    return Sweep(watch.limits.states, joins, faults, work.severity)


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


def place(engine: Engine, plug: str, joins: Sequence[Blocks], *, unplugged: bool) -> tuple[Reach, Points]:
    """The cavities of a plug in the circuit, and the leads of every join between them."""
    cavities = engine.sheet.connectors[plug].cavities
    nodes: Ints = np.array([engine.circuit.node(f"{c}.machine") for c in cavities], np.int64)
    points = Points(engine.circuit, nodes, leads_of(cavities, joins))
    return Reach(engine, plug if unplugged else "", nodes), points


def leads_of(cavities: Sequence[str], joins: Sequence[Blocks]) -> Ints:
    """``(j, k, 2)`` cavities that each lead of a join connects, -1 where it has fewer."""
    place = {c: t for t, c in enumerate(cavities)}
    found: Ints = np.full((len(joins), max(1, len(cavities) - 1), 2), -1, np.int64)
    for j, blocks in enumerate(joins):
        ends = [(place[a], place[b]) for block in blocks for a, b in pairwise(block)]
        for k, pair in enumerate(ends):
            found[j, k] = pair
    return found


class _Work:
    """What every operator state of a sweep shares."""

    def __init__(self, reach: Reach, watch: Watch, changes: Changes, points: Points) -> None:
        self.reach, self.changes, self.points = reach, changes, points
        self.watch, self.all_of = narrowed_watch(watch)
        self.few = narrowed(reach.engine.circuit)
        self.rules = rules_of(watch.sheet, [rule for _, rule in watch.codes])
        self.values = changes.values(reach.engine.circuit.nominal)
        self.states = watch.limits.states
        self.joins = points.siemens.shape[1]
        self.severity: Ints = np.zeros((len(self.states), self.joins, changes.count), np.int64)
        self.befores: list[Seen] = []
        """What each operator state was like before, as far as it was asked for."""

    def tasks(self) -> Iterator[_Task]:
        """The sweep in pieces that fill severities of their own."""
        none = np.zeros(0, np.int64)
        for bundle in self.reach.bundles(self.states, latent=False):
            first = self.states[bundle[0][0]]
            felt = self.reach.felt(first, self.changes, latent=False)
            far = np.flatnonzero(self.reach.felt(first, self.changes, latent=True) & ~felt)
            # Faults that the leads cannot feel leave the circuit as the sound one is.
            rest = np.setdiff1d(np.arange(self.changes.count), np.concatenate([np.flatnonzero(felt), far]))
            for part in self._parts(np.flatnonzero(felt)):
                yield _Task(bundle, part, rest if part[0] == 0 else none)
            # What only a fault connects differs from state to state.
            for own in bundle if far.size else ():
                for apart in self.reach.bundles([self.states[i] for i in own], latent=True):
                    places = [[own[k] for k in alike] for alike in apart]
                    for part in self._parts(far):
                        yield _Task(places, part, none)

    def _parts(self, faults: Ints) -> list[Ints]:
        most = max(1, SETTLED // self.joins)
        return np.array_split(faults, -(-faults.size // most))

    def before(self, state: Setup) -> Seen:
        """Every fault in an operator state, with the plug on and without leads."""
        none: Ints = np.zeros(0, np.int64)
        points = Points(self.reach.engine.circuit, none, np.full((1, 1, 2), -1, np.int64))
        stage = make_stage(self.reach.engine.circuit, state)
        ports = [Ports(s, self.values, points, self.few, self.all_of) for s in history(stage)]
        circuits = np.arange(self.changes.count), np.zeros(self.changes.count, np.int64)
        settled, _ = settle_joins([stage], ports, circuits, self.few, self.rules)
        return self._see(stage, ports[-1], settled, circuits)

    def do(self, task: _Task) -> None:
        """Fill the severities of a task."""
        some = self.values[task.faults]
        kept: dict[bytes, Ports] = {}
        left = np.ones((len(task.bundle), task.faults.size * self.joins), bool)
        for k in range(len(task.bundle)):
            rows = np.flatnonzero(left[k])
            circuits = rows // self.joins, rows % self.joins
            stages = [self.reach.stage(self.states[own[0]]) for own in task.bundle[k:]]
            ports = [self._ports(stage, some, kept) for stage in history(stages[0])]
            settled, unlike = settle_joins(stages, ports, circuits, self.few, self.rules)
            # Who stands for circuits of states that come later settles them too.
            stood = np.concatenate([np.ones((1, rows.size), bool), left[k + 1 :, rows] & ~unlike])
            left[k + 1 :, rows] &= unlike
            for begin in range(0, rows.size, JUDGED):
                part = slice(begin, begin + JUDGED)
                now = Settled(settled.modes[part], settled.chatters[part], settled.alternating[part])
                fault, join = circuits[0][part], circuits[1][part]
                seen = self._see(stages[0], ports[-1], now, (fault, join))
                for own, here in zip(task.bundle[k:], stood[:, part], strict=True):
                    self._report(task, own, (seen, fault, join), np.flatnonzero(here))

    def _report(self, task: _Task, own: list[int], judged: tuple[Seen, Ints, Ints], rows: Ints) -> None:
        """Severities of some circuits, each with a fault and a join, in states ``own``."""
        seen, fault, join = judged
        if rows.size < fault.size:
            seen, fault, join = seen.taken(rows), fault[rows], join[rows]
        sound = np.flatnonzero(fault == 0) if task.alike.size else rows[:0]
        for i in own:
            self._fill(i, seen, task.faults[fault], join)
            for f in task.alike if sound.size else ():
                self._fill(i, seen.taken(sound), np.full(sound.size, f), join[sound])

    def _see(self, stage: Stage, ports: Ports, settled: Settled, circuits: tuple[Ints, Ints]) -> Seen:
        """What circuits with a fault and a join each, and settled modes, are judged by."""
        fault, join = circuits
        found = ports.ask(settled.modes, fault, join)
        solution = Solution(
            make_stage(self.all_of.circuit, stage.setup),
            ports.all_values[fault],
            found.volts,
            found.siemens,
            # What sources drive is in the currents; nobody asks for it apart.
            np.zeros((fault.size, 0)),
            found.currents,
            settled.modes,
            settled.chatters,
            settled.alternating,
            _no_transfer,
        )
        return self.watch.see(solution, stage.setup).with_leads(np.abs(found.amps) / LEAD_AMPS)

    def _fill(self, i: int, seen: Seen, fault: Ints, join: Ints) -> None:
        """Severity of circuits in an operator state, as what was seen compares with what was before."""
        before, state = self.befores[i], self.states[i]
        asked, shut = before.released[0], np.array([guard_shut(f, state) for f in self.watch.functions], bool)
        # Whoever does none of this is of no effect, whatever the circuit did before.
        odd = (seen.released & ~(shut & asked)).any(axis=1) | (seen.measured.ratio > 1).any(axis=1)
        rows = np.flatnonzero(odd | seen.codes.any(axis=1) | seen.blown.any(axis=1))
        some = replace(seen.taken(rows), shut=shut)
        self.severity[i, join, fault] = 0
        self.severity[i, join[rows], fault[rows]] = v.severity(some, before.taken(fault[rows]), asked)

    def _ports(self, stage: Stage, values: Floats, kept: dict[bytes, Ports]) -> Ports:
        """Ports of a stage; one for all whose circuits are alike where leads or battery reach."""
        key = self.reach.alive(stage, latent=True).tobytes()
        if key not in kept:
            kept[key] = Ports(stage, values, self.points, self.few, self.all_of)
        return kept[key]


def _no_transfer(selector: Floats) -> Floats:
    raise TypeError("circuits of a sweep keep no inverse")

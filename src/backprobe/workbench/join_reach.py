"""What leads between the cavities of a plug can feel: which branches, which faults, in which states alike."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from backprobe.circuit.compiled import Bools, Floats, Ints
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Changes
from backprobe.circuit.stage import Stage, make_stage
from backprobe.diagnosis.engine import Engine
from backprobe.sheet.anatomy import OPEN
from backprobe.sheet.logic import atoms, parse_rule


class Reach:
    """The circuit that leads meet in each operator state.

    Parameters
    ----------
    plug
        The connector that is off; empty where it is on.
    nodes
        Nodes of its cavities; -1 for the datum.
    """

    def __init__(self, engine: Engine, plug: str, nodes: Ints) -> None:
        self.engine, self.plug, self.nodes = engine, plug, nodes
        rules = [f.releases for f in engine.sheet.functions.values()]
        rules += [r for latch in engine.sheet.latches.values() for r in (latch.sets, latch.clears)]
        rules += [r for patterns in engine.sheet.lamps.values() for _, r in patterns]
        subjects = {a.subject for r in rules if r for a in atoms(parse_rule(r))}
        self.named = sorted(subjects & set(engine.sheet.controls))
        """Controls that rules speak of; the others act through contacts alone."""
        begin, end = np.array([_ends(row) for row in engine.circuit.incidence], np.int64).T
        self._begin: Ints = begin
        self._end: Ints = end

    def setup(self, state: Setup) -> Setup:
        """An operator state with the plug off where it is."""
        return state.without(self.plug) if self.plug else state

    def stage(self, state: Setup) -> Stage:
        """The circuit in an operator state, without leads."""
        return make_stage(self.engine.circuit, self.setup(state))

    def alive(self, stage: Stage, *, latent: bool) -> Bools:
        """``(b,)`` branches that can feel the leads or the battery: connected to them, modes aside.

        Parameters
        ----------
        latent
            Whether a connection counts that is only there with a fault.
        """
        begin, end = self._begin, self._end
        closed = ~stage.open_always
        if not latent:
            closed &= self.engine.circuit.nominal[stage.circuit.ohms_of] < OPEN / 2
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

    def signature(self, state: Setup, *, latent: bool) -> tuple[bytes, bytes]:
        """Alike for operator states in which the leads meet the same circuit, and the same rules with it."""
        stage = self.stage(state)
        circuit = self.alive(stage, latent=latent).tobytes()
        if stage.before is not None:
            return circuit, repr(state.state).encode()
        return circuit, repr([state.position(c) for c in self.named]).encode()

    def bundles(self, states: Sequence[Setup], *, latent: bool) -> list[list[list[int]]]:
        """Places of states whose leads meet one circuit; inside, those together whose rules are one too."""
        found: dict[bytes, dict[bytes, list[int]]] = {}
        for i, state in enumerate(states):
            circuit, rules = self.signature(state, latent=latent)
            found.setdefault(circuit, {}).setdefault(rules, []).append(i)
        return [list(bundle.values()) for bundle in found.values()]

    def felt(self, state: Setup, changes: Changes, *, latent: bool) -> Bools:
        """``(f,)`` faults that change something which the leads can feel; the sound circuit counts too."""
        circuit = self.engine.circuit
        alive = self.alive(self.stage(state), latent=latent)
        on: set[int] = set()
        used: set[int] = set()
        for links in (circuit.ohms_of, circuit.emf_of, circuit.amps_of):
            used |= set(links.tolist())
            on |= set(links[alive].tolist())
        thresholds = set(range(len(circuit.parameters))) - used
        felt = on | thresholds
        return np.array(
            [i == 0 or bool(felt & (set(row) - {-1})) for i, row in enumerate(changes.index.tolist())]
        )


def _ends(row: Floats) -> tuple[int, int]:
    one, other = np.flatnonzero(row > 0), np.flatnonzero(row < 0)
    return int(one[0]) if one.size else -1, int(other[0]) if other.size else -1

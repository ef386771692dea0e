"""A circuit in one setup: which branches can carry current, and the matrices per set of modes."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from backprobe.circuit.compiled import Bools, Circuit, Floats, Ints
from backprobe.circuit.eliminate import Factors, Plan, make_plan
from backprobe.circuit.history import setup_before
from backprobe.circuit.setup import Setup
from backprobe.sheet.anatomy import LEAK_TO_CHASSIS, AtPosition, Attached, InMode, WhilePlugged

REFINEMENTS = 4
"""Steps of refinement at most; one is enough unless only a leak holds some node."""

SETTLED = 1e-9
"""Refinement ends below this step [V]; what is then left is at least a hundred times smaller."""


@dataclass(frozen=True, slots=True, eq=False)
class Closed:
    """Branches of a batch as if nothing held them open.

    Parameters
    ----------
    siemens
        ``(c, b)`` conductances [S].
    sources, volts
        ``(k,)`` branches with an electromotive force, and ``(c, k)`` those [V].
    pushed, amps
        ``(k,)`` branches with a constant current, and ``(c, k)`` those [A].
    """

    siemens: Floats
    sources: Ints
    volts: Floats
    pushed: Ints
    amps: Floats

    def at(self, rows: Ints) -> Closed:
        """The same for some of the circuits."""
        return Closed(self.siemens[rows], self.sources, self.volts[rows], self.pushed, self.amps[rows])


@dataclass(slots=True, eq=False)
class Stage:
    """One circuit in one setup.

    Parameters
    ----------
    incidence
        ``(b + extra, n)``: the circuit's branches, then those of the attachments.
    open_always
        ``(b + extra,)``: branches that operator state or plugging holds open.
    mode_gates
        ``(branch, device, inverted)`` for branches that follow a device.
    extra_siemens, extra_volts
        Fixed conductance [S] and electromotive force [V] of the attachments' branches.
    """

    circuit: Circuit
    setup: Setup
    incidence: Floats
    open_always: Bools
    gate_branch: Ints
    gate_device: Ints
    gate_inverted: Bools
    extra_siemens: Floats
    extra_volts: Floats
    before: Stage | None = None
    """The same circuit just before, where the setup says that something was done then."""
    cache: dict[bytes, object] = field(default_factory=dict)

    @property
    def branch_count(self) -> int:
        """Branches of the circuit and of the attachments together."""
        return int(self.incidence.shape[0])

    def stands(self, control: str, position: str) -> bool:
        """Whether a control stands so."""
        return self.setup.position(control) == position

    def at(self, rows: Ints) -> Stage:
        """The same for some circuits of a batch: all stand in one setup."""
        return self

    def conducting(self, modes: Bools) -> Bools:
        """``(c, b)``: branches that are not held open, given device modes ``(c, d)``."""
        on = np.broadcast_to(~self.open_always, (modes.shape[0], self.branch_count)).copy()
        if self.gate_branch.size:
            passing = modes[:, self.gate_device] != self.gate_inverted
            np.logical_and.at(on.T, self.gate_branch, passing.T)
        return on

    def conductances(self, values: Floats, modes: Bools) -> tuple[Floats, Floats]:
        """Branch conductances and driving currents.

        Parameters
        ----------
        values
            ``(c, p)`` parameter values, own units.
        modes
            ``(c, d)`` device modes.

        Returns
        -------
        siemens, driven
            ``(c, b)`` conductance [S], and ``(c, b)`` current that the branch drives from its
            beginning to its end at zero volts across it [A].
        """
        return self.held(self.closed(values), self.conducting(modes))

    def closed(self, values: Floats) -> Closed:
        """The branches at these parameter values ``(c, p)``, as if nothing held them open."""
        circuit = self.circuit
        siemens = np.empty((values.shape[0], self.branch_count))
        base = len(circuit.branches)
        siemens[:, :base] = 1.0 / values[:, circuit.ohms_of]
        siemens[:, base:] = self.extra_siemens
        sources = np.flatnonzero(circuit.emf_of >= 0)
        pushed = np.flatnonzero(circuit.amps_of >= 0)
        volts = values[:, circuit.emf_of[sources]] * circuit.emf_sign[sources]
        return Closed(siemens, sources, volts, pushed, values[:, circuit.amps_of[pushed]])

    def held(self, closed: Closed, on: Bools) -> tuple[Floats, Floats]:
        """Conductances and driving currents ``(c, b)`` where only the branches `on` conduct."""
        siemens = closed.siemens * on
        driven = np.zeros_like(siemens)
        driven[:, closed.sources] = siemens[:, closed.sources] * closed.volts
        driven[:, closed.pushed] += on[:, closed.pushed] * closed.amps
        base = len(self.circuit.branches)
        driven[:, base:] = siemens[:, base:] * self.extra_volts
        return siemens, driven

    def solve(self, siemens: Floats, driven: Floats) -> tuple[Floats, Floats]:
        """Node volts and inverse matrices of a batch, each solved in full.

        Returns
        -------
        volts, inverse
            ``(c, n)`` [V] and ``(c, n, n)`` [ohm].
        """
        inverse = np.asarray(np.linalg.inv(self._matrix(siemens)), np.float64)
        volts = np.einsum("cij,jc->ci", inverse, self.pushed(driven))
        for _ in range(REFINEMENTS):
            # Refinement keeps the digits that the matrix loses where only a leak holds a node.
            step = np.einsum("cij,cj->ci", inverse, self.residual(volts, siemens, driven))
            volts = volts + step
            if np.abs(step).max(initial=0.0) < SETTLED:
                break
        return volts, inverse

    def solve_few(self, siemens: Floats, driven: Floats) -> Floats:
        """Node volts ``(c, n)`` of a few circuits [V] from full matrices, not refined."""
        right = self.pushed(driven).T[..., None]
        return np.asarray(np.linalg.solve(self._matrix(siemens), right)[..., 0], np.float64)

    def _matrix(self, siemens: Floats) -> Floats:
        """``(c, n, n)`` nodal matrices [S]."""
        size = self.circuit.size
        place, share = self._entries()
        matrix = np.zeros((siemens.shape[0], size, size))
        matrix.reshape(-1, size * size)[:, place] = siemens @ share
        matrix[:, np.arange(size), np.arange(size)] += LEAK_TO_CHASSIS
        return matrix

    @property
    def plan(self) -> Plan:
        """In which order the nodes are eliminated; kept for all setups with the same branches."""
        kept = self.circuit.plans
        key = self.incidence[len(self.circuit.branches) :].tobytes()
        if key not in kept:
            kept[key] = make_plan(self.incidence)
        return kept[key]

    def pushed(self, driven: Floats) -> Floats:
        """``(n, c)`` what driving currents ``(c, b)`` bring into each node [A]."""
        result: Floats = -(driven @ self.incidence).T
        return result

    def eliminated(self, factors: Factors, siemens: Floats, driven: Floats) -> Floats:
        """Node volts ``(n, c)`` [V] of circuits whose nodes were eliminated."""
        return self.refined(factors.solve(self.pushed(driven)), factors, siemens, driven)

    def refined(self, volts: Floats, factors: Factors, siemens: Floats, driven: Floats) -> Floats:
        """The same from volts ``(n, c)`` that may have lost digits, improved until they stand [V]."""
        volts = volts.copy()
        left = np.arange(volts.shape[1])
        for _ in range(REFINEMENTS):
            step = factors.solve(self.residual(volts[:, left].T, siemens[left], driven[left]).T)
            volts[:, left] += step
            moving = np.flatnonzero(np.abs(step).max(axis=0, initial=0.0) >= SETTLED)
            if not moving.size:
                break
            left, factors = left[moving], factors.at(moving)
        return volts

    def _entries(self) -> tuple[Ints, Floats]:
        """Entries ``(e,)`` of the flattened matrix that branches reach, and their shares ``(b, e)``."""
        kept = self.cache.get(b"entries")
        if kept is None:
            branch, node = np.nonzero(self.incidence)
            one, other = np.nonzero(branch[:, None] == branch)
            flat = node[one] * self.circuit.size + node[other]
            place, column = np.unique(flat, return_inverse=True)
            share = np.zeros((self.branch_count, place.size))
            sign = self.incidence[branch, node]
            np.add.at(share, (branch[one], column), sign[one] * sign[other])
            kept = self.cache[b"entries"] = (place, share)
        result: tuple[Ints, Floats] = kept  # type: ignore[assignment]
        return result

    def residual(self, volts: Floats, siemens: Floats, driven: Floats) -> Floats:
        """``(c, n)`` currents that arrive at the nodes and do not leave; zero once solved [A].

        Taken from whole branch currents: what a stiff source's current loses to rounding then
        leaves one node and arrives at another, and cannot charge an island that only leaks.
        """
        result: Floats = -(self.currents(volts, siemens, driven) @ self.incidence) - LEAK_TO_CHASSIS * volts
        return result

    def currents(self, volts: Floats, siemens: Floats, driven: Floats) -> Floats:
        """``(c, b)`` branch currents from beginning to end [A]."""
        result: Floats = siemens * (volts @ self.incidence.T) + driven
        return result


def make_stage(circuit: Circuit, setup: Setup) -> Stage:
    """Place a circuit in a setup.

    Raises
    ------
    KeyError
        When an attachment names a point that the circuit does not have.
    """
    state = dict(setup.state)
    earlier = setup_before(circuit.sheet, setup)
    base = len(circuit.branches)
    wires = [a for a in setup.attached if a.kind != "target"]
    targets = {a.red for a in setup.attached if a.kind == "target"}
    incidence = np.zeros((base + len(wires), circuit.size))
    incidence[:base] = circuit.incidence
    for i, attachment in enumerate(wires):
        # Begins at black: an attached source drives its red lead up.
        for terminal, sign in ((attachment.black, 1.0), (attachment.red, -1.0)):
            node = circuit.node(terminal)
            if node >= 0:
                incidence[base + i, node] += sign
    open_always = np.zeros(base + len(wires), bool)
    gates: list[tuple[int, int, bool]] = []
    for i, branch in enumerate(circuit.branches):
        for gate in branch.gates:
            match gate:
                case AtPosition(control, positions, inverted):
                    open_always[i] |= (state.get(control) in positions) == inverted
                case WhilePlugged(name):
                    open_always[i] |= name in setup.unplugged
                case Attached(name, inverted):
                    open_always[i] |= (name in targets) == inverted
                case InMode(device, inverted):
                    gates.append((i, circuit.device_of[device], inverted))
    return Stage(
        circuit,
        setup,
        incidence,
        open_always,
        np.array([g[0] for g in gates], np.int64),
        np.array([g[1] for g in gates], np.int64),
        np.array([g[2] for g in gates], bool),
        np.array([1.0 / a.ohms for a in wires]),
        np.array([a.volts for a in wires]),
        None if earlier is None else make_stage(circuit, earlier),
    )

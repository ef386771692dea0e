"""Operator states whose leads meet one circuit and that differ in what rules hear of controls alone.

Circuits settle from the same start by the same steps, until a rule says something else in one state
than in the other. Where none ever does, they are settled once for both.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from backprobe.circuit.compiled import Bools, Circuit, Floats, Ints
from backprobe.circuit.narrow import Narrow
from backprobe.circuit.settle import Electrical, Settled, Solver, rule_truth, settle
from backprobe.circuit.stage import Stage, make_stage
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Sheet
from backprobe.workbench.ports import Ports


def rules_of(sheet: Sheet, further: Iterable[str]) -> tuple[str, ...]:
    """Rules that speak of a control, further ones among them: no other can differ between such states."""
    rules = [f.releases for f in sheet.functions.values()]
    rules += [r for latch in sheet.latches.values() for r in (latch.sets, latch.clears)]
    named = [
        r for r in [*rules, *further] if r and {a.subject for a in atoms(parse_rule(r))} & set(sheet.controls)
    ]
    return tuple(dict.fromkeys(named))


class Twins:
    """A batch that settles in one stage, and keeps account of what differs in others; see `settle.Placed`.

    Parameters
    ----------
    stages
        The stage, then the others.
    rules
        The rules that may differ.
    count
        Number of circuits.
    """

    def __init__(self, stages: Sequence[Stage], rules: tuple[str, ...], count: int) -> None:
        self.stage, self.others, self.rules = stages[0], stages[1:], rules
        self.differs: Bools = np.zeros((len(self.others), count), bool)
        """``(other, c)`` circuits that may settle, or be judged, otherwise in another stage."""
        self._asked: Bools = np.zeros(count, bool)
        self._volts: Floats = np.zeros((count, stages[0].circuit.size))
        self._modes: Bools = np.zeros((count, len(stages[0].circuit.devices)), bool)

    @property
    def circuit(self) -> Circuit:
        """The circuit that all are."""
        return self.stage.circuit

    def stands(self, control: str, position: str) -> bool:
        """Whether a control stands so."""
        return self.stage.stands(control, position)

    def at(self, rows: Ints) -> Twins:
        """The same for some circuits, whose slow devices are about to follow the rules."""
        self._asked[rows] = True
        if not (self.rules and self.others):
            return self
        volts, modes = self._volts[rows], self._modes[rows]
        for rule in self.rules:
            own = rule_truth(self.stage, rule, modes, volts)
            for k, other in enumerate(self.others):
                self.differs[k, rows] |= rule_truth(other, rule, modes, volts) != own
        return self

    def watched(self, solver: Solver) -> Solver:
        """A solver that leaves its last answers here."""

        def solve(modes: Bools, rows: Ints) -> Electrical:
            found = solver(modes, rows)
            if self.rules and self.others:
                self._volts[rows], self._modes[rows] = found.volts, modes
            return found

        return solve

    def unlike(self, chatters: Bools) -> Bools:
        """``(other, c)`` circuits to settle anew: `differs`, and those whose end no rule was asked about."""
        result: Bools = self.differs | chatters | ~self._asked
        return result


def history(stage: Stage) -> list[Stage]:
    """What was done just before a stage, and it."""
    return [*(history(stage.before) if stage.before else ()), stage]


def settle_joins(
    stages: Sequence[Stage],
    ports: list[Ports],
    circuits: tuple[Ints, Ints],
    few: Narrow,
    rules: tuple[str, ...],
) -> tuple[Settled, Bools]:
    """Circuits with a fault and a join each, settled in the first stage; which may differ in the others.

    Parameters
    ----------
    ports
        Those of the `history` of the first stage.
    circuits
        Fault and join ``(c,)`` of each circuit.
    few
        What devices are judged by.
    rules
        See `rules_of`.
    """
    fault, join = circuits
    modes: Bools | None = None
    own = [make_stage(few.circuit, stage.setup) for stage in stages]
    for stage, here in zip(history(own[0]), ports, strict=True):

        def solver(modes: Bools, rows: Ints, here: Ports = here) -> Electrical:
            return here.quick(modes, fault[rows], join[rows])

        twins = Twins([stage, *own[1:]], rules, fault.size)
        settled = settle(twins, fault.size, twins.watched(solver), modes)
        modes = settled.modes
    # What was done before may have left other marks.
    apart = np.array([s.before is not None or len(ports) > 1 for s in own[1:]], bool)
    return settled, twins.unlike(settled.chatters) | apart[:, None]

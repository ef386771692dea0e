"""What a machine does in one operator state: functions, codes, lamps, fuses and everything's limits."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from backprobe.circuit.compiled import Bools, Floats, Ints
from backprobe.circuit.settle import rule_truth
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Solution
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.lamp_looks import lamp_looks
from backprobe.diagnosis.predict import function_works
from backprobe.diagnosis.states import WORKS, guard_shut
from backprobe.sheet.anatomy import Driven, Limiter
from backprobe.sheet.driven_lamps import is_driven
from backprobe.sheet.functions import OPEN_LOAD, OVER_CURRENT, inputs_of
from backprobe.workbench.claim import Cure
from backprobe.workbench.trial_limits import Limits, Measured

_FLASHES = re.compile(r"^\d+ flash", re.I)
CODE = re.compile(r"\bcode\b|\berror\b|\bfault\b", re.I)
"""Words in a band or pattern by which it is a code."""


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """A batch of circuits in one operator state, as it is judged.

    Parameters
    ----------
    released
        ``(c, f)`` whether each function is let go: its rule is met, or its load works.
    shut
        ``(f,)`` whether its guard is satisfied.
    codes
        ``(c, k)`` codes and flash patterns.
    blown
        ``(c, m)`` fuses that open.
    limiting
        ``(c, g)`` feeds held at their limit.
    measured
        Everything's limits.
    works
        ``(c, f)`` whether each function's load works: it may be let go and lack its volts.
    """

    released: Bools
    shut: Bools
    codes: Bools
    blown: Bools
    limiting: Bools
    chatters: Bools
    measured: Measured
    works: Bools

    def at(self, row: int) -> Seen:
        """One circuit of the batch, as a batch of one."""
        return self.taken(np.array([row]))

    def taken(self, rows: Ints) -> Seen:
        """Some circuits of the batch."""
        m = self.measured
        return Seen(
            self.released[rows],
            self.shut,
            self.codes[rows],
            self.blown[rows],
            self.limiting[rows],
            self.chatters[rows],
            Measured(m.limits, m.value[rows], m.ratio[rows]),
            self.works[rows],
        )

    def put(self, row: int, one: Seen) -> None:
        """Put a batch of one in the place of a circuit."""
        for name in ("released", "codes", "blown", "limiting", "chatters", "works"):
            getattr(self, name)[row] = getattr(one, name)[0]
        self.measured.value[row] = one.measured.value[0]
        self.measured.ratio[row] = one.measured.ratio[0]

    def with_leads(self, ratio: Floats) -> Seen:
        """The same with leads ``(c, k)`` over their limit [1] as further columns."""
        m = self.measured
        return replace(self, measured=Measured(m.limits, m.value, np.concatenate([m.ratio, ratio], axis=1)))

    @property
    def opened(self) -> Bools:
        """``(c, f)`` functions let go although their guard is open."""
        result: Bools = self.released & ~self.shut
        return result


class Watch:
    """What is looked at in every operator state of a sheet.

    Parameters
    ----------
    engine
        The engine of the sheet.
    """

    def __init__(self, engine: Engine) -> None:
        self.engine, self.sheet = engine, engine.sheet
        self.limits = Limits(engine)
        self.functions = tuple(self.sheet.functions.values())
        self.codes = tuple(self._codes())
        circuit = engine.circuit
        self.feeds = [(i, d.key) for i, d in enumerate(circuit.devices) if isinstance(d, Limiter)]
        self._drivers = {
            f.name: [
                i for i, d in enumerate(circuit.devices) if isinstance(d, Driven) and d.output in f.drives
            ]
            for f in self.functions
        }

    def _codes(self) -> Iterator[tuple[str, str]]:
        """Name and rule of each code: bands of inputs, what outputs report, lamps that flash."""
        for name, meanings in inputs_of(self.sheet).items():
            for word in meanings:
                if CODE.search(word) or word in {OVER_CURRENT, OPEN_LOAD}:
                    yield f"{name} {word}", f"{name} is {word}"
        for lamp, patterns in self.sheet.lamps.items():
            for pattern, rule in patterns:
                if _FLASHES.match(pattern) or CODE.search(f"{lamp} {pattern}"):
                    yield f"{lamp} {pattern}", rule

    def see(self, solution: Solution, state: Setup, cure: Cure | None = None) -> Seen:
        """Judge a solved batch in an operator state."""
        count = solution.count
        truth = [rule_truth(solution.stage, rule, solution.modes, solution.volts) for _, rule in self.codes]
        works = np.array([function_works(solution, f.name) > WORKS for f in self.functions], bool)
        works = works.reshape(-1, count)
        released = [
            self._released(solution, f.name, own) for f, own in zip(self.functions, works, strict=True)
        ]
        return Seen(
            np.array(released, bool).reshape(-1, count).T,
            np.array([guard_shut(f, state) for f in self.functions], bool),
            np.array(truth, bool).reshape(-1, count).T,
            solution.modes[:, [i for i, _ in self.limits.fuses]],
            solution.modes[:, [i for i, _ in self.feeds]],
            solution.chatters,
            self.limits.measure(solution, cure),
            works.T,
        )

    def _released(self, solution: Solution, name: str, works: Bools) -> Bools:
        """``(c,)`` whether a function is let go, also where it comes and goes."""
        released = works
        drivers = self._drivers[name]
        function = self.sheet.functions[name]
        if drivers and function.releases:
            # A rule that is met lets go, also where the load itself is unplugged.
            rule = rule_truth(solution.stage, function.releases, solution.modes, solution.volts)
            asked = solution.modes[:, drivers] | solution.alternating[:, drivers]
            released = released | (asked.any(axis=1) & rule)
            released = released | solution.alternating[:, drivers].any(axis=1)
        return released

    def fuse_names(self) -> tuple[str, ...]:
        """Owners of the fuses, in the order of `Seen.blown`."""
        circuit = self.engine.circuit
        return tuple(circuit.branches[circuit.branch_of[d.branch]].owner for _, d in self.limits.fuses)

    def lamps(self, solution: Solution, row: int) -> tuple[tuple[str, str], ...]:
        """What every lamp of the machine shows in one circuit of a batch."""
        found: list[tuple[str, str]] = []
        circuit = self.engine.circuit
        for name, patterns in self.sheet.lamps.items():
            shown = [
                pattern
                for pattern, rule in patterns
                if rule_truth(solution.stage, rule, solution.modes, solution.volts)[row]
            ]
            found.append((name, " and ".join(shown) or "dark"))
        for name, load in circuit.loads.items():
            if load.kind in {"lamp", "led"} and (
                name not in self.sheet.lamps or is_driven(name, self.sheet.functions)
            ):
                looks = {word: float(p[row]) for word, p in lamp_looks(solution, name).items()}
                found.append((name, max(looks, key=looks.__getitem__)))
        return tuple(dict(found).items())


@dataclass(frozen=True, slots=True)
class Bearing:
    """What one thing carries against what it bears.

    Parameters
    ----------
    value, limit, unit
        Value and limit [A, W or V].
    amps, watts
        Current through it [A] and heat in it [W]; None for what is judged by its volts.
    """

    name: str
    what: str
    value: float
    limit: float
    unit: str
    share: float
    amps: float | None
    watts: float | None


def bearings(watch: Watch, solution: Solution, measured: Measured, row: int) -> tuple[Bearing, ...]:
    """Everything's limits in one circuit, the most loaded first."""
    limits = watch.limits
    high = [*limits.high, *(lim.high for lim in measured.limits[len(limits.limits) :])]
    found: dict[tuple[str, str], Bearing] = {}
    for k, limit in enumerate(measured.limits):
        amps: Floats | None = None
        watts = None
        if limit.branch >= 0:
            amps = np.abs(solution.currents[row, limit.branch])
            siemens = solution.siemens[row, limit.branch]
            watts = float(amps**2 / siemens) if siemens > 0 else 0.0
        bearing = Bearing(
            limit.name,
            limit.what,
            float(measured.value[row, k]),
            float(high[k]),
            limit.unit,
            float(measured.ratio[row, k]),
            None if amps is None else float(amps),
            watts,
        )
        kept = found.get((limit.name, limit.what))
        if kept is None or kept.share < bearing.share:
            found[limit.name, limit.what] = bearing
    return tuple(sorted(found.values(), key=lambda b: -b.share))

"""The diagnosis of one sheet: circuits per setup kept ready, every reading predicted once."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Collection, Hashable, Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from backprobe.circuit.compiled import Circuit, Floats, compile_sheet
from backprobe.circuit.course import Course
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Solution, solve_changes
from backprobe.circuit.stage import Stage, make_stage
from backprobe.diagnosis.pairs import Pairs
from backprobe.diagnosis.patience import breathe
from backprobe.diagnosis.predict import (
    GLOWS_ABOVE,
    Prediction,
    burn_limits,
    burns,
    chance_of,
    function_works,
    heat_of,
    predict_number,
)
from backprobe.faults.catalogue import Catalogue, make_catalogue
from backprobe.readings.model import Reading
from backprobe.sheet.model import Sheet

KEPT_MEGABYTES = 50.0
"""Solved setups kept at most, besides the last one; what was predicted from them is kept in any case."""


class Engine:
    """Everything about a sheet that does not depend on the readings.

    Parameters
    ----------
    sheet
        The sheet.
    circumstances
        Words such as ``wet`` or ``after repair`` that shift the priors.
    only
        Names (``part: mode``) of the faults to consider; all of them when empty.

    Raises
    ------
    ValueError
        For an unknown circumstance.
    """

    def __init__(
        self, sheet: Sheet, circumstances: Iterable[str] = (), *, only: Collection[str] = ()
    ) -> None:
        self.sheet = sheet
        self._circumstances, self._only = tuple(circumstances), only
        self._builds: tuple[Engine, ...] = ()
        circuit = compile_sheet(sheet)
        if only:
            circuit = replace(circuit, modes=tuple(m for m in circuit.modes if m.name in only))
        self.circuit: Circuit = circuit
        self.catalogue: Catalogue = make_catalogue(self.circuit, self._circumstances)
        self._stages: dict[Setup, Stage] = {}
        self._singles: OrderedDict[Setup, Solution] = OrderedDict()
        self._numbers: dict[Hashable, Prediction] = {}
        self._shared: dict[tuple[Hashable, Hashable], Floats] = {}
        self._spans: dict[Hashable, Floats] = {}
        self._courses: dict[Setup, Course] = {}
        self._limits: dict[Setup, Floats] = {}
        self._burns: dict[Setup, Floats] = {}
        self._chances: dict[Reading, Floats] = {}
        self._sound: dict[Setup, Solution] = {}
        self._works: dict[tuple[Setup, str], Floats] = {}
        self.pairs: dict[tuple[frozenset[str], tuple[str, ...]], Pairs] = {}
        """Pairs of points that the choice of checks has looked at, kept for the next time."""
        self.movable: dict[Setup, bool] = {}
        """Setups in which a function can be powered, as far as that was asked."""
        changed = np.zeros((self.catalogue.count, len(circuit.parameters)), bool)
        spread = np.repeat(self.circuit.spread[None], self.catalogue.count, axis=0)
        for k in range(self.catalogue.changes.index.shape[1]):
            column = self.catalogue.changes.index[:, k]
            rows = np.flatnonzero(column >= 0)
            spread[rows, column[rows]] = self.catalogue.spread_of[rows]
            changed[rows, column[rows]] = True
        self.single_values: Floats = self.catalogue.changes.values(circuit.nominal)
        """``(c, p)`` parameter values of each row of the catalogue, own units."""
        self.single_spread: Floats = spread
        self.single_changed = changed
        """``(c, p)`` whether a row of the catalogue changes a parameter."""
        rows = np.argsort(self.catalogue.mode_of, kind="stable")
        begin = np.searchsorted(self.catalogue.mode_of[rows], np.arange(len(circuit.modes) + 1))
        self._order, self._begin = rows, begin
        self.rows_of_mode = [rows[a:b] for a, b in pairwise(begin.tolist())]
        """Rows of the catalogue by mode, as `Catalogue.rows_of` gives them."""
        extra = self.catalogue.log_extra
        self.log_extra_of_mode = np.array([np.logaddexp.reduce(extra[r]) for r in self.rows_of_mode])
        """Logarithm of what each mode costs beside another fault, over its severities."""
        self.columns = np.flatnonzero((spread > 0).any(axis=0))
        """Parameters that any explanation leaves uncertain."""

    def by_mode(self, log_weight: Floats) -> Floats:
        """``(m, k)`` log weights ``(c, k)`` of the catalogue's rows summed over each mode's severities."""
        result: Floats = np.logaddexp.reduceat(log_weight[self._order], self._begin[:-1], axis=0)
        return result

    @property
    def builds(self) -> tuple[Engine, ...]:
        """An engine for each build that the sheet leaves open, this one first; empty where none is."""
        if self.sheet.builds and not self._builds:
            others = (Engine(b.sheet, self._circumstances, only=self._only) for b in self.sheet.builds[1:])
            self._builds = (self, *others)
        return self._builds

    def stage(self, setup: Setup) -> Stage:
        """The circuit in a setup."""
        if setup not in self._stages:
            self._stages[setup] = make_stage(self.circuit, setup)
        return self._stages[setup]

    def sound(self, setup: Setup) -> Solution:
        """The one circuit without a fault, solved in a setup."""
        if setup not in self._sound:
            self._sound[setup] = solve_full(self.stage(setup), self.circuit.nominal[None])
        return self._sound[setup]

    def singles(self, setup: Setup) -> Solution:
        """All rows of the catalogue, solved in a setup."""
        if setup not in self._singles:
            breathe()
            self._singles[setup] = solve_changes(self.stage(setup), self.catalogue.changes)
            while len(self._singles) > 1 and self._kept() > KEPT_MEGABYTES:
                self._singles.popitem(last=False)
        self._singles.move_to_end(setup)
        return self._singles[setup]

    def course(self, setup: Setup) -> Course:
        """How all rows of the catalogue came to rest in a setup."""
        if setup not in self._courses:
            course = self.singles(setup).course
            devices = len(self.circuit.devices)
            self._courses[setup] = course or Course.unknown(self.catalogue.count, devices)
        return self._courses[setup]

    def _kept(self) -> float:
        """Size of the solved setups [MB]: volts, and three arrays over the branches."""
        return sum(s.volts.nbytes + 3 * s.siemens.nbytes for s in self._singles.values()) / 1e6

    def limits(self, setup: Setup) -> Floats:
        """``(2, b)`` what each branch survives in a setup [A] and [W]; twice the sound at least."""
        if setup not in self._limits:
            amps = burn_limits(self.circuit)
            sound = np.abs(self.singles(setup).currents[0, : amps.size])
            heat = heat_of(self.singles(setup))[0]
            watts = np.where(np.isfinite(amps), GLOWS_ABOVE, np.inf)
            self._limits[setup] = np.stack([np.maximum(amps, 2 * sound), np.maximum(watts, 2 * heat)])
        return self._limits[setup]

    def single_burns(self, setup: Setup) -> Floats:
        """``(c,)`` log factor of rows whose current would have burnt something."""
        if setup not in self._burns:
            self._burns[setup] = burns(self.singles(setup), self.limits(setup))
        return self._burns[setup]

    def single_number(self, reading: Reading) -> Prediction:
        """A numeric reading as every row of the catalogue predicts it."""
        key = _shown(reading)
        if key not in self._numbers:
            self._numbers[key] = predict_number(self.singles(reading.setup), reading)
        return self._numbers[key]

    def single_covariance(self, readings: Sequence[Reading]) -> Floats:
        """``(c, r, r)`` covariance of numeric readings by what each row of the catalogue leaves uncertain."""
        keys = [_shown(r) for r in readings]
        found = np.empty((self.catalogue.count, len(keys), len(keys)))
        for i, one in enumerate(keys):
            weighted: Floats | None = None
            for j, other in enumerate(keys[: i + 1]):
                shared = self._shared.get((one, other))
                if shared is None:
                    if weighted is None:
                        weighted = self.single_number(readings[i]).loading * self.single_spread**2
                    shared = np.einsum("cp,cp->c", weighted, self.single_number(readings[j]).loading)
                    self._shared[one, other] = self._shared[other, one] = shared
                found[:, i, j] = found[:, j, i] = shared
        return found

    def single_span(self, reading: Reading) -> Floats:
        """``(c,)`` variance of a numeric reading over each row's own cell."""
        key = _shown(reading)
        if key not in self._spans:
            moved = self.single_number(reading).loading * (self.single_spread * self.single_changed)
            self._spans[key] = np.einsum("cp,cp->c", moved, moved)
        return self._spans[key]

    def single_works(self, setup: Setup, function: str) -> Floats:
        """``(c,)`` probability that a function works, row by row."""
        if (setup, function) not in self._works:
            self._works[setup, function] = function_works(self.singles(setup), function)
        return self._works[setup, function]

    def single_chance(self, reading: Reading) -> Floats:
        """``(c,)`` chance of a reading that is not a number, row by row, before slips."""
        if reading not in self._chances:
            self._chances[reading] = chance_of(self.singles(reading.setup), reading)
        return self._chances[reading]


def _shown(reading: Reading) -> Hashable:
    """What a numeric reading is predicted from, whatever the meter showed."""
    return reading.kind, reading.setup, reading.red, reading.black, reading.leads is None

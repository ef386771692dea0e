"""What a fit begins with: the readings sorted by kind, and the explanations before any of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.circuit.setup import Setup
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.predict import noise_of
from backprobe.readings.model import Reading


def slip_density(engine: Engine, readings: Sequence[Reading]) -> Floats:
    """``(r,)`` log density of a slipped number: anywhere between the rails, or over ln of ohms."""
    volts = 1.5 * engine.sheet.system_volts
    flat = {"volts": -np.log(volts), "ohms": -np.log(18.0), "amps": -np.log(30.0)}
    return np.array([flat[r.kind] for r in readings])


@dataclass(slots=True, eq=False)
class Readings:
    """The readings of a job, sorted into numbers and the rest, grouped by setup."""

    all: tuple[Reading, ...]
    numbers: tuple[Reading, ...]
    others: tuple[Reading, ...]
    measured: Floats
    noise: Floats
    slip_log: Floats

    @property
    def blown(self) -> frozenset[Setup]:
        """Setups in which a fuse was seen to blow."""
        return frozenset(r.setup for r in self.others if r.kind == "fuse" and r.seen == "blows")

    @property
    def setups(self) -> tuple[Setup, ...]:
        """Distinct setups that any reading needs solved."""
        needed = [r.setup for r in (*self.numbers, *self.others) if r.kind not in {"swapped", "looked"}]
        return tuple(dict.fromkeys(needed))


def sort_readings(engine: Engine, readings: Sequence[Reading]) -> Readings:
    """Sort readings; their order does not matter to anything that follows."""
    ordered = tuple(readings)
    numbers = tuple(r for r in ordered if r.numeric and not r.over_range)
    others = tuple(r for r in ordered if not (r.numeric and not r.over_range) and r.kind != "leads")
    measured, noise = noise_of(list(numbers))
    return Readings(ordered, numbers, others, measured, noise, slip_density(engine, numbers))


@dataclass(frozen=True, slots=True, eq=False)
class Priors:
    """Explanations before any reading: ``(e, p)`` centre and spread of the parameters, log prior ``(e,)``."""

    rows: tuple[tuple[int, ...], ...]
    start: Floats
    spread: Floats
    log_prior: Floats

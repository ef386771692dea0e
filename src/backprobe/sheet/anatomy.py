"""What a part is made of: the few primitives every kind is composed from.

A kind (one file in `backprobe.sheet.kinds`) describes itself with these words only:
resistances, sources, junctions, coils that move contacts, inputs with bands, and the
faults that change their values. Everything above reads the same description: the
circuit solves it, the faults are enumerated from it, the screens name it.

Every fault is a change of parameter values, never of structure: a short is a *latent*
resistance that stops being open, swapped cavities are latent crossings. That is what
lets one factorised circuit answer for all faults.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import log, sqrt

OPEN = 1e10
"""Resistance of what is not connected [ohm]; a hundred times any meter's load."""

LEAK_TO_CHASSIS = 1e-10
"""Conductance that keeps a floating point defined [S]; a thousandth of a 10 Mohm meter."""

WORN_BELOW = 1e4
"""A fault whose mildest severity is above this is a break, not wear [ohm]."""

Origins = ("measured", "published", "assumed", "default")


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a number comes from: one of `Origins` and the words that belong to it."""

    kind: str = "default"
    note: str = ""

    def __str__(self) -> str:
        return f"{self.kind} ({self.note})" if self.note else self.kind


@dataclass(frozen=True, slots=True)
class Value:
    """A number with its tolerance and its origin.

    Parameters
    ----------
    nominal, low, high
        Best value and the ends of its tolerance, in the SI unit `unit`.
    at
        Temperature that it was given at [degC]; None where nothing was said.
    """

    nominal: float
    low: float
    high: float
    unit: str
    origin: Origin = field(default_factory=Origin)
    at: float | None = None

    @property
    def log_spread(self) -> float:
        """Standard deviation of the logarithm, reading the tolerance as rectangular [1].

        A bound with no distribution stated is rectangular: u = a / sqrt(3)
        (JCGM 100:2008, 4.3.7).
        """
        return log(self.high / self.low) / (2 * sqrt(3)) if self.high > self.low > 0 else 0.0

    @property
    def spread(self) -> float:
        """Standard deviation, reading the tolerance as rectangular [unit]."""
        return (self.high - self.low) / (2 * sqrt(3))


@dataclass(frozen=True, slots=True)
class Parameter:
    """One uncertain number of the circuit.

    `logarithmic` parameters (resistances) vary by factors, the others (volts, amps) by
    differences. `owner` is the part the number belongs to.
    """

    key: str
    owner: str
    value: Value
    logarithmic: bool


# --- what opens and closes a branch ------------------------------------------------------


@dataclass(frozen=True, slots=True)
class AtPosition:
    """On while an operator control stands in one of these positions."""

    control: str
    positions: frozenset[str]
    inverted: bool = False


@dataclass(frozen=True, slots=True)
class WhilePlugged:
    """On while a connector is plugged, a ring is fastened, a fuse or relay is in its holder."""

    name: str


@dataclass(frozen=True, slots=True)
class Attached:
    """On (or, inverted, off) while something is held to the part for a check: steel at its face."""

    name: str
    inverted: bool = False


@dataclass(frozen=True, slots=True)
class InMode:
    """On while a device is in (or, inverted, out of) its mode."""

    device: str
    inverted: bool = False


Gate = AtPosition | WhilePlugged | Attached | InMode


@dataclass(frozen=True, slots=True)
class Branch:
    """A two-terminal resistance, with an electromotive force in series where `emf` is given.

    Current flows from `a` to `b` through the branch; the force drives current out of `b`.
    """

    key: str
    owner: str
    a: str
    b: str
    ohms: str
    emf: str = ""
    emf_sign: float = 1.0
    gates: tuple[Gate, ...] = ()
    amps: str = ""
    """Parameter of a constant current driven from `a` to `b` (a source in its limit)."""


# --- devices whose mode follows from the circuit -----------------------------------------


@dataclass(frozen=True, slots=True)
class Junction:
    """Conducts while the current through `branch` would flow forward."""

    key: str
    branch: str


@dataclass(frozen=True, slots=True)
class Limiter:
    """A source that regulates until its current reaches `amps`, then gives that current.

    `branch` is on while regulating, `limited` while limiting. Mode true = limiting.
    """

    key: str
    branch: str
    limited: str
    amps: str
    volts: str


@dataclass(frozen=True, slots=True)
class Supplied:
    """True while the volts from `a` to `b` reach `volts`: a sensor or controller that has supply."""

    key: str
    a: str
    b: str
    volts: str


@dataclass(frozen=True, slots=True)
class Puller:
    """A coil (`branch`) that pulls at `pull_in` effective volts and lets go at `drop_out`.

    Effective volts are those across the winding, or what its current would need across a sound
    winding if that is less: an open coil has all the volts and pulls nothing.
    """

    key: str
    branch: str
    pull_in: str
    drop_out: str


@dataclass(frozen=True, slots=True)
class Melter:
    """Opens for good when the current through `branch` stays above `amps`."""

    key: str
    branch: str
    amps: str


@dataclass(frozen=True, slots=True)
class Tripper:
    """A driver's own protection: opens above `amps`, long before a fuse melts, and stays open while asked."""

    key: str
    branch: str
    amps: str


@dataclass(frozen=True, slots=True)
class Driven:
    """Follows controller logic: true while `function` is released and `powered` is true."""

    key: str
    output: str
    powered: str


@dataclass(frozen=True, slots=True)
class Memory:
    """A controller's latch: true once its set rule was, until its clear rule is or the power is gone."""

    key: str
    latch: str
    powered: str


@dataclass(frozen=True, slots=True)
class Idle:
    """True while the current through `branch` stays below `amps`: a driver that misses its load."""

    key: str
    branch: str
    amps: str


Device = Junction | Limiter | Supplied | Puller | Melter | Tripper | Driven | Memory | Idle

FAST = (Junction, Limiter, Supplied)
"""Devices that follow the circuit at once; the others take time and may chatter."""


@dataclass(frozen=True, slots=True)
class Band:
    """A voltage range at a controller input and what the controller takes it to mean [V].

    Parameters
    ----------
    low, high
        Its edges while the volts go up.
    falling
        The edges while the volts go down, where the input has hysteresis; None where they are the same.
    unit
        ``V``; ``A`` only while a sheet is read, before the pin's own resistance turned it into volts.
    """

    low: float
    high: float
    meaning: str
    falling: tuple[float, float] | None = None
    unit: str = "V"


@dataclass(frozen=True, slots=True)
class Input:
    """A controller input: volts from `node` to `ground`, read in bands.

    A controller watches its own outputs in the same way: in bands while the driver is off (`quiet`
    is the device that is true while it drives), and while it drives by the devices `tripped`, that
    has shut it down, and `idle`, that misses its load.
    """

    name: str
    node: str
    ground: str
    bands: tuple[Band, ...]
    powered: str
    quiet: str = ""
    tripped: str = ""
    idle: str = ""


@dataclass(frozen=True, slots=True)
class Load:
    """What a function ends in: works while the effective volts of `branch` (as in `Puller`) reach `volts`."""

    name: str
    branch: str
    volts: str
    kind: str


# --- what can go wrong --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Mode:
    """One failure mode of one part.

    Parameters
    ----------
    part, mode
        Whose it is and what happens, in words.
    changes
        Parameter key to its value at each severity; all grids of a mode have one length.
    rate
        Catalogue weight: how often this is what a mechanic finds, per thousand complaints.
    why
        The reason for the rate.
    spread
        Standard deviation of the natural logarithm of a changed resistance within one
        severity cell [1]; 0 for modes without a severity.
    repair
        What is done about it, in words.
    minutes, cost
        What the repair takes [min] and [money units].
    family
        ``copper``, ``contact``, ``part``, ``source``, ``electronics`` or ``wiring``.
    """

    part: str
    mode: str
    changes: Mapping[str, tuple[float, ...]]
    rate: float
    why: str
    repair: str
    spread: float = 0.0
    minutes: float = 10.0
    cost: float = 0.0
    family: str = "part"

    @property
    def is_wear(self) -> bool:
        """Whether it is a series resistance that grows with age, in a conductor or a contact."""
        shunt = ("shorted", "bridged", "wet", "welded")
        lossy = any(grid[0] < WORN_BELOW for grid in self.changes.values())
        worn = self.family in {"copper", "contact"} and self.spread > 0 and lossy
        return worn and not any(word in self.mode for word in shunt)

    @property
    def name(self) -> str:
        """The mode's unique name: ``part: mode``."""
        return f"{self.part}: {self.mode}"

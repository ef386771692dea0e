"""The answer: suspects with reasons, groups that look alike, what is only worn, what does not fit."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.diagnosis.drops import DropFinding
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.explain import Explanations
from backprobe.diagnosis.given import Readings
from backprobe.faults.catalogue import NONE_OF_THESE

if TYPE_CHECKING:
    from backprobe.diagnosis.controller_proof import HeldBack


NEARLY = 0.5
"""Share of the likeliest suspect's belief from which a sound circuit that fits every reading leads."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One reading seen from one suspect.

    Parameters
    ----------
    reading
        Index of the reading.
    predicted, as_built, measured
        Values in the reading's own unit [V, ohm, A], or probabilities for what is no number.
    speaks
        Natural-log ratio of this suspect to all others for this reading: above 0 it speaks for it.
    """

    reading: int
    predicted: float
    as_built: float
    measured: float
    speaks: float


@dataclass(frozen=True, slots=True)
class Suspect:
    """A fault, or faults to be repaired together, with the chance that the repair is the cure.

    Parameters
    ----------
    names
        ``part: mode`` of each fault repaired together; usually one.
    probability
        Chance that repairing it makes the function work again; without a complaint, that it is the cause.
    present
        Chance that the fault is there at all.
    severity
        ``(low, best, high)`` of its resistance [ohm] as a 90 % interval; None where it has none.
    """

    names: tuple[str, ...]
    modes: tuple[int, ...]
    probability: float
    present: float
    severity: tuple[float, float, float] | None
    repair: str
    minutes: float
    cost: float
    reasons: tuple[Reason, ...]
    best: int

    @property
    def name(self) -> str:
        """The suspect in words."""
        return " and ".join(self.names)


@dataclass(frozen=True, slots=True)
class Group:
    """Suspects that these readings cannot tell apart."""

    suspects: tuple[Suspect, ...]

    @property
    def probability(self) -> float:
        """Chance that one of its repairs is the cure, at most 1."""
        return min(1.0, sum(s.probability for s in self.suspects))


@dataclass(frozen=True, slots=True)
class Worn:
    """Something worn that is not the cause: worth a look while there."""

    name: str
    present: float
    severity: tuple[float, float, float] | None


@dataclass(frozen=True, slots=True)
class Estimate:
    """One value of the circuit as the readings leave it: 90 % interval [own unit]."""

    parameter: str
    unit: str
    low: float
    best: float
    high: float


@dataclass(frozen=True, slots=True, eq=False)
class BuildShare:
    """One build and how much the readings speak for it.

    Parameters
    ----------
    choices
        What is open, such as ``feed volts``, and what it is in this build.
    probability
        Of this build, given the readings [1].
    answer
        What the readings say if it is this one.
    """

    choices: tuple[tuple[str, str], ...]
    probability: float
    answer: Answer


def log_none_of_these(readings: Readings) -> float:
    """Natural logarithm of the weight of *none of these*: every reading may then be anything."""
    weight = np.log(NONE_OF_THESE) + readings.slip_log.sum() + np.log(0.5) * len(readings.others)
    return float(weight)


@dataclass(slots=True, eq=False)
class Answer:
    """What the readings say.

    Parameters
    ----------
    groups
        Most probable first, those held back after all others; suspects inside likewise.
    as_built, none_of_these
        Probability that the circuit is sound and behaves as built, and that the sheet is wrong.
    slips
        Reading index and probability of each reading that had better be taken again.
    drops
        Sets of loaded drops that do not sum.
    """

    engine: Engine
    readings: Readings
    explanations: Explanations
    share: Floats
    groups: tuple[Group, ...]
    worn: tuple[Worn, ...]
    estimates: tuple[Estimate, ...]
    as_built: float
    none_of_these: float
    slips: tuple[tuple[int, float], ...]
    drops: tuple[DropFinding, ...]
    label_of: tuple[str, ...] = field(default=())
    """For each explanation the suspect it is counted under."""
    held: tuple[HeldBack, ...] = ()
    """Suspects inside a controller that may not lead yet, and what has to be read first."""
    sound_fits: bool = False
    """Whether a sound circuit would show every one of these readings."""
    builds: tuple[BuildShare, ...] = ()
    """Builds that the sheet leaves open, most probable first; this answer is of the first, its
    probabilities are of all together."""

    @property
    def log_evidence(self) -> float:
        """Natural logarithm of the evidence for the sheet: all explanations and *none of these*."""
        total = np.logaddexp.reduce(self.explanations.log_weight)
        return float(np.logaddexp(total, log_none_of_these(self.readings)))

    @property
    def reads_as_built(self) -> bool:
        """Whether no reading shows a fault and no suspect has much more belief than the sound circuit.

        Faults that none of these readings could show are not ruled out by it.
        """
        most = max((s.probability for s in self.suspects), default=0.0)
        return self.as_built > most or (self.sound_fits and self.as_built > NEARLY * most)

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """All suspects, most probable first."""
        return tuple(sorted((s for g in self.groups for s in g.suspects), key=lambda s: -s.probability))

"""The answer: suspects with reasons, groups that look alike, what is only worn, what does not fit."""

from __future__ import annotations

from dataclasses import dataclass, field

from backprobe.circuit.compiled import Floats
from backprobe.diagnosis.drops import DropFinding
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.explain import Explanations, Readings


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


@dataclass(slots=True, eq=False)
class Answer:
    """What the readings say.

    Parameters
    ----------
    groups
        Most probable first; suspects inside likewise.
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

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """All suspects, most probable first."""
        return tuple(sorted((s for g in self.groups for s in g.suspects), key=lambda s: -s.probability))

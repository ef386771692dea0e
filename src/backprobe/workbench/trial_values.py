"""What a trial tells: effects state by state, verdicts for each suspect, meanings and their cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from backprobe.circuit.compiled import Floats
from backprobe.circuit.setup import Setup
from backprobe.readings.model import Reading
from backprobe.sheet.model import Sheet
from backprobe.workbench import verdict as v
from backprobe.workbench.claim import Cure
from backprobe.workbench.trial_effects import Bearing


@dataclass(frozen=True, slots=True)
class Effect:
    """What the machine does in one operator state with the cure done, nothing else being wrong.

    Parameters
    ----------
    lamps
        Lamp and what it shows.
    codes
        Codes that are set, those that were there before included.
    released, held
        Functions let go, and those held or standing still because of the cure.
    limiting
        Feeds held at their current limit, which they survive.
    damaged, fuses
        What bears more than it can, and fuses that open, because of the cure.
    judged
        Whether the claim speaks of this state; else it is what would happen if it were left in place.
    """

    state: Setup
    verdict: str
    reasons: tuple[str, ...]
    lamps: tuple[tuple[str, str], ...]
    codes: tuple[str, ...]
    released: tuple[str, ...]
    held: tuple[str, ...]
    limiting: tuple[str, ...]
    damaged: tuple[str, ...]
    fuses: tuple[str, ...]
    bearings: tuple[Bearing, ...]
    judged: bool


@dataclass(frozen=True, slots=True)
class ForSuspect:
    """What a cure does if one suspect is what is wrong.

    Parameters
    ----------
    probability
        Of the suspect [1].
    cures
        Whether every function then works as in a sound machine, and every guard holds.
    """

    name: str
    probability: float
    verdict: str
    cures: bool
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ForBuild:
    """What a cure does on one build that the sheet leaves open.

    Parameters
    ----------
    build
        Its values, such as ``feed volts 8 V``.
    probability
        Of the build, by what was read [1].
    cure_chance
        Probability that it is the cure if this is the build [1].
    """

    build: str
    probability: float
    verdict: str
    reasons: tuple[str, ...]
    cure_chance: float


@dataclass(frozen=True, slots=True)
class Meaning:
    """One meaning of a claim, judged.

    Parameters
    ----------
    cautions
        Why it is refused for good, or its safe set-up and how it is put back.
    cure_chance
        Probability that it is the cure: of all suspects that it cures together [1].
    made_up
        Guard cavities and parts whose signal it makes up for good.
    builds
        What it does on each build that the readings leave, the one that decides first, whose effects these
        are; empty where the sheet leaves none open.
    works_chance
        Probability that what was read dead works with it, its guard shut [1]; None where nothing was.
    instead
        The measurement that tells the same without it; empty where it touches no guard.
    """

    cure: Cure
    verdict: str
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    effects: tuple[Effect, ...]
    suspects: tuple[ForSuspect, ...]
    cure_chance: float
    made_up: tuple[str, ...] = ()
    builds: tuple[ForBuild, ...] = ()
    works_chance: float | None = None
    instead: str = ""

    @property
    def refused(self) -> bool:
        """Whether only the refusal is said, why, and what to measure: it takes from a guard what it tells."""
        made_up = bool(self.instead) and (self.verdict == v.CODE or self.cure.lasting)
        return self.verdict == v.DEFEATS or made_up

    @property
    def cures(self) -> tuple[ForSuspect, ...]:
        """Suspects that it is said to cure; a bridge over a guard makes nothing work that anybody is told."""
        if self.refused or self.instead:
            return ()
        return tuple(s for s in self.suspects if s.cures and s.verdict != v.DEFEATS)


@dataclass(frozen=True, slots=True)
class Trial:
    """A claim with every one of its meanings judged.

    Parameters
    ----------
    claim
        As it was said.
    readings
        What the suspects were ranked by.
    """

    sheet: Sheet
    claim: str
    meanings: tuple[Meaning, ...]
    readings: tuple[Reading, ...]

    @property
    def verdict(self) -> str:
        """The worst of its meanings."""
        return min((m.verdict for m in self.meanings), key=v.VERDICTS.index)


@dataclass(frozen=True, slots=True)
class AsCheck:
    """A momentary stand-in as it goes on the record of a job.

    Parameters
    ----------
    shown
        What was seen while it was in place.
    """

    claim: str
    shown: str
    safe_set_up: str
    put_back: str


@dataclass(frozen=True, slots=True, eq=False)
class Cases:
    """The sound machine, and the machine with each suspect.

    Parameters
    ----------
    values
        ``(c, p)`` parameter values; row 0 is sound.
    faults
        For each row the faults (``part: mode``) that it has.
    """

    names: tuple[str, ...]
    probabilities: tuple[float, ...]
    values: Floats
    faults: tuple[tuple[str, ...], ...]

    def taken(self, rows: Sequence[int]) -> Cases:
        """Some of the cases, in their order."""
        return Cases(
            tuple(self.names[k] for k in rows),
            tuple(self.probabilities[k] for k in rows),
            self.values[list(rows)],
            tuple(self.faults[k] for k in rows),
        )

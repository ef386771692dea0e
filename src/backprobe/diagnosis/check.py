"""A check and what each of its outcomes would mean."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.diagnosis.checks import Candidate


@dataclass(frozen=True, slots=True)
class Outcome:
    """One zone of what the check may show, and what it would mean.

    Parameters
    ----------
    low, high
        Zone [V or ohm]; NaN for outcomes that are no number.
    shows
        The zone in words.
    means
        Suspects it points to, most probable first.
    chance
        Probability of the zone now [1].
    """

    low: float
    high: float
    shows: str
    means: tuple[str, ...]
    chance: float


@dataclass(frozen=True, slots=True)
class Check:
    """A check with what it is worth.

    Parameters
    ----------
    information
        Expected information about the cause [bit].
    minutes
        Time it takes [min].
    outcomes
        What each outcome would mean.
    proves
        What must be read before a controller may be blamed, and this check would; empty for others.
    """

    candidate: Candidate
    information: float
    minutes: float
    outcomes: tuple[Outcome, ...]
    cautions: tuple[str, ...]
    proves: str = ""

    @property
    def worth(self) -> float:
        """Information per minute [bit/min]."""
        return self.information / self.minutes

    def words(self) -> str:
        """What to do, with the setup."""
        return f"{self.candidate.words()}; {self.candidate.setup.words()}"

"""What a look at candidates finds before any is judged: a glance at a setup, and a closer look at one."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.circuit.compiled import Floats
from backprobe.diagnosis.checks import Candidate


@dataclass(frozen=True, slots=True, eq=False)
class Quick:
    """A candidate after a quick look.

    Parameters
    ----------
    worth
        About what it tells for each minute [nat/min].
    mean, sd
        ``(e,)`` what it would show under each explanation [V or ln ohm].
    """

    candidate: Candidate
    worth: float
    mean: Floats
    sd: Floats


@dataclass(frozen=True, slots=True)
class Glance:
    """Candidates of one kind and setup that a glance finds best.

    Parameters
    ----------
    worth
        What the best of them may tell for each minute at most, about [nat/min].
    """

    worth: float
    candidates: tuple[Candidate, ...]

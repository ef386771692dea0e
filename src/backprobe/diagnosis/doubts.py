"""The measurement as a suspect: what kind of slip a reading may be, and which ohms are none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log

import numpy as np

from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Solution
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.explain import Explanations
from backprobe.diagnosis.predict import selector_of
from backprobe.diagnosis.ranking import posterior_variance
from backprobe.diagnosis.slip_case import LIVE_VOLTS, SlipCase, live_volts, measured_between
from backprobe.diagnosis.slip_kinds import SLIP_KINDS, SlipKind, likelihood
from backprobe.diagnosis.two_slips import TwoSlips, two_slips

MISFIT = 3.0
"""Standard deviations from which a reading is doubted when no fault explains the readings [1]."""
SHOWN = 0.05
"""Chance below which a kind of slip is not named."""
MOST = 4
LOOKED_AT = 8
"""Explanations that say whether a circuit is live: the rest is too little believed."""


@dataclass(frozen=True, slots=True)
class Slip:
    """One kind of slip that a reading may be.

    Parameters
    ----------
    kind
        Name of an entry of `SLIP_KINDS`.
    chance
        That it is this one, given that the reading is a slip [1].
    value
        What the meter would show then [V, A or ohm]; NaN where it may be anything.
    where
        The other cavity, position, plug or point.
    detail
        The number that goes with it: ohms of leads or leak, volts between the leads, share of a pulse.
    """

    kind: str
    chance: float
    value: float
    where: str
    detail: float


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reading to take again.

    Parameters
    ----------
    reading
        Its index.
    probability
        That it is a slip at all [1].
    expected
        What the other readings make one expect [V, A or ohm].
    slips
        What kind of slip it may be, most probable first.
    """

    reading: int
    probability: float
    expected: float
    slips: tuple[Slip, ...]


@dataclass(frozen=True, slots=True)
class LiveOhms:
    """A reading of ohms that is no resistance, since volts of their own stand between the leads.

    Parameters
    ----------
    reading
        Its index.
    volts
        Between the leads [V].
    """

    reading: int
    volts: float


def doubts(answer: Answer, kinds: Sequence[SlipKind] = SLIP_KINDS) -> tuple[Doubt, ...]:
    """Readings that had better be taken again, each with the kinds of slip it may be.

    Parameters
    ----------
    kinds
        Kinds of slip to think of.
    """
    both = _both_wrong(answer)
    without = both.found if both else None
    return tuple(_doubt(answer, i, chance, kinds, without) for i, chance in _doubtful(answer, both))


def doubtful(answer: Answer) -> tuple[tuple[int, float], ...]:
    """Index and chance of each reading in doubt: named slips, or what no fault explains."""
    return _doubtful(answer, _both_wrong(answer))


def _both_wrong(answer: Answer) -> TwoSlips | None:
    """Two readings that spoil all others, looked for only where nothing explains the readings."""
    return two_slips(answer) if _unexplained(answer) and not answer.slips else None


def _unexplained(answer: Answer) -> bool:
    return bool(answer.none_of_these > max((g.probability for g in answer.groups), default=0.0))


def _doubtful(answer: Answer, both: TwoSlips | None) -> tuple[tuple[int, float], ...]:
    if answer.slips or not answer.readings.numbers or not _unexplained(answer):
        return answer.slips
    place = {id(r): i for i, r in enumerate(answer.readings.all)}
    if both is not None:
        return tuple((place[id(answer.readings.numbers[k])], both.probability) for k in both.numbers)
    misfit = np.abs(answer.explanations.misfit[_best(answer)])
    far = [k for k in np.argsort(-misfit, kind="stable").tolist() if misfit[k] > MISFIT]
    return tuple((place[id(answer.readings.numbers[k])], answer.none_of_these) for k in far[:2])


def live_ohms(answer: Answer) -> tuple[LiveOhms, ...]:
    """Readings of ohms, or of a beeper, that were taken on a live circuit."""
    found: list[LiveOhms] = []
    solved: dict[Setup, Solution] = {}
    top = np.argsort(-answer.share, kind="stable")[:LOOKED_AT]
    for i, reading in enumerate(answer.readings.all):
        if reading.kind not in {"ohms", "beeper"} or reading.unsteady:
            continue
        measured = measured_between(answer, reading)
        if measured is None:
            if reading.setup not in solved:
                stage = answer.engine.stage(reading.setup)
                solved[reading.setup] = solve_full(stage, answer.explanations.values[top])
            volts = live_volts(solved[reading.setup], selector_of(answer.engine.circuit, reading))
            share = answer.share[top] / answer.share[top].sum()
            believed = float(share[np.abs(volts) > LIVE_VOLTS].sum()) > 0.5
            measured = float(share @ volts) if believed else 0.0
        if abs(measured) > LIVE_VOLTS:
            found.append(LiveOhms(i, measured))
    return tuple(found)


def _best(answer: Answer, slip: int = -1) -> int:
    """The most believed explanation that takes one numeric reading for a slip, else of all."""
    taken = np.flatnonzero(answer.explanations.slip == slip)
    among = taken if taken.size else np.arange(answer.explanations.count)
    return int(among[np.argmax(answer.explanations.log_weight[among])])


def _doubt(
    answer: Answer, index: int, probability: float, kinds: Sequence[SlipKind], without: Explanations | None
) -> Doubt:
    """A reading in doubt beside what explains the others: the best there is, or `without` it."""
    reading = answer.readings.all[index]
    number = next(k for k, r in enumerate(answer.readings.numbers) if r is reading)
    found = without or answer.explanations.take([_best(answer, number)])
    flat = float(answer.readings.slip_log[number])
    case = SlipCase(answer, reading, found.values[0], posterior_variance(found)[0], flat)
    weighed = [(kind.name, v, w) for kind in kinds for v, w in likelihood(kind, case)]
    peak = max((w for _, _, w in weighed), default=0.0)
    total = log(sum(exp(w - peak) for _, _, w in weighed)) + peak if weighed else 0.0
    slips = [Slip(name, exp(w - total), v.value, v.where, v.detail) for name, v, w in weighed]
    slips.sort(key=lambda s: -s.chance)
    expected = exp(case.mean) if reading.kind == "ohms" else case.mean
    return Doubt(index, probability, expected, tuple(s for s in slips if s.chance > SHOWN)[:MOST])

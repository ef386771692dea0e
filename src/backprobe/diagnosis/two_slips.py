"""Two readings taken wrong: which two, both left out, let a fault explain all the others.

The answer itself takes one reading at most for a slip: with two to spare too much could be explained
away. Where nothing explains the readings, the two that spoil them are worth naming all the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.diagnosis.answer import Answer, log_none_of_these
from backprobe.diagnosis.evidence import LOG_2PI, evidence_of, heaviest
from backprobe.diagnosis.explain import Explanations
from backprobe.diagnosis.fault_sets import weigh_rows
from backprobe.diagnosis.given import Readings
from backprobe.diagnosis.predict import SLIP
from backprobe.diagnosis.search import single_misses, single_weights

LEAST_LEFT = 3
"""Numbers that have to be left when two are taken away: fewer are explained by almost anything."""
PAIRS = 3
"""Pairs looked at closely, and as many for blurred readings."""
ROWS = 6
"""Single faults looked at closely for each pair, and as many for blurred readings."""
LIKELY = 0.5
"""Chance, beside *none of these*, from which two slips are named [1]."""


@dataclass(frozen=True, slots=True, eq=False)
class TwoSlips:
    """Two readings that spoil all others.

    Parameters
    ----------
    numbers
        Their places among the numeric readings.
    probability
        That both are slips [1].
    found
        The best explanation of the readings without them, alone in its batch.
    """

    numbers: tuple[int, int]
    probability: float
    found: Explanations


def two_slips(answer: Answer) -> TwoSlips | None:
    """The two readings that are slips if any two are; None where the others are no better without them."""
    given = answer.readings
    count = len(given.numbers)
    if count < LEAST_LEFT + 2:
        return None
    tried = [(pair, _without(answer, pair, rows)) for pair, rows in _likeliest(answer).items()]
    weighed = [
        (float(np.logaddexp.reduce(found.log_weight)) + _cost(given, pair), pair, found)
        for pair, found in tried
    ]
    weight, pair, found = max(weighed, key=lambda w: w[0])
    share = float(np.exp(-np.logaddexp(0.0, log_none_of_these(given) - weight)))
    return TwoSlips(pair, answer.none_of_these * share, found.take([0])) if share > LIKELY else None


def _cost(given: Readings, pair: tuple[int, int]) -> float:
    """Log chance that two numbers are slips and show what they do."""
    return 2 * float(np.log(SLIP)) + float(given.slip_log[list(pair)].sum())


def _without(answer: Answer, pair: tuple[int, int], rows: Sequence[int]) -> Explanations:
    """Single faults, each at its most probable state given the readings but two."""
    given, mode_of = answer.readings, answer.engine.catalogue.mode_of
    left = [k for k in range(len(given.numbers)) if k not in pair]
    readings = replace(
        given,
        numbers=tuple(given.numbers[k] for k in left),
        measured=given.measured[left],
        noise=given.noise[np.ix_(left, left)],
        slip_log=given.slip_log[left],
    )
    sets: list[tuple[int, ...]] = [() if mode_of[r] < 0 else (r,) for r in rows]
    return weigh_rows(answer.engine, readings, sets, [-1] * len(sets))


def _likeliest(answer: Answer) -> dict[tuple[int, int], list[int]]:
    """The pairs of numbers without which some single fault does best, each with its best rows."""
    engine, readings = answer.engine, answer.readings
    one, other = np.triu_indices(len(readings.numbers), 1)
    spoilt = (readings.slip_log[:, None] + readings.slip_log)[one, other]
    found: dict[tuple[int, int], list[int]] = {}
    for coarse in (False, True):
        plain, _ = single_weights(engine, readings, coarse=coarse)
        density = _pair_density(answer, coarse=coarse)[:, one, other]
        weight = plain[:, None] + spoilt - density
        for k in heaviest(weight.max(axis=0))[:PAIRS]:
            rows = found.setdefault((int(one[k]), int(other[k])), [])
            rows += [r for r in heaviest(weight[:, k])[:ROWS] if r not in rows]
    return found


def _pair_density(answer: Answer, *, coarse: bool) -> Floats:
    """``(c, r, r)`` log density of each two numbers given all others, fault by fault.

    The inverse covariance holds it: two numbers given the rest have the inverse of their own block of it
    (C. M. Bishop: Pattern Recognition and Machine Learning, 2006, section 2.3.1 [mem]).
    """
    found, precision = evidence_of(*single_misses(answer.engine, answer.readings, coarse=coarse))
    own = np.diagonal(precision, axis1=1, axis2=2)
    a, d, b = own[:, :, None], own[:, None, :], precision
    u, v = found.weighted[:, :, None], found.weighted[:, None, :]
    # On the diagonal stands one number twice: no pair.
    det = np.maximum(a * d - b**2, 1e-300)
    distance = (d * u**2 - 2 * b * u * v + a * v**2) / det
    result: Floats = -0.5 * distance + 0.5 * np.log(det) - LOG_2PI
    return result

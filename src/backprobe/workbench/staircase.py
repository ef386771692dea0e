"""Thresholds from counts at fixed levels and from up-and-down runs: the classical estimators.

Which is for what:

========================  ==========================================================================
`dixon_mood`              a run that went one step down after each yes and one step up after each no;
                          needs steps about as wide as the spread
`reversal_mean`           the same run, no model at all: a quick answer at the bench
`centred_isotonic`        levels in any order, yes and no mixed; assumes only that yes gets no rarer upwards
`spearman_karber`         the same number of trials at ascending levels, from hardly any yes to nearly all
`fit_binomial`            counts at levels when a smooth curve is believed; the only one with a slope. In
                          `backprobe.workbench.band_fit`
`edge_posterior`          a few readings, all no below and all yes above: what `backprobe band` uses, since
                          every other one here needs a mixture. In `backprobe.workbench.band_fit`
========================  ==========================================================================
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.errors import Problem, UnitError

NORMAL_95 = 1.959964
"""Two-sided 95 % quantile of the normal distribution [1]."""


@dataclass(frozen=True, slots=True)
class UpDown:
    """What an up-and-down run says.

    Parameters
    ----------
    middle, spread
        Level at which half say yes, and standard deviation of the thresholds [unit of the levels].
    counted
        How many of the rarer answer went into it.
    """

    middle: float
    spread: float
    counted: int


def dixon_mood(levels: Sequence[float], yes: Sequence[bool], step: float) -> UpDown:
    """Middle and spread from an up-and-down run with equal steps.

    ``m = x0 + d (A/N +- 1/2)``, ``s = 1.620 d ((N B - A^2)/N^2 + 0.029)``, over the rarer answer: N of
    them, A and B the first and second moments of their steps above the lowest, x0; plus for no, minus
    for yes. W. J. Dixon, A. M. Mood: A method for obtaining and analyzing sensitivity data. Journal of
    the American Statistical Association 43 (1948). [mem]

    Parameters
    ----------
    levels
        Level of each trial, in order [any unit].
    yes
        Whether it answered; after a yes the next level is one step lower.
    step
        Distance of neighbouring levels [same unit], above 0.

    Raises
    ------
    UnitError
        When one of the answers never came, or the levels are not whole steps apart.
    """
    x, hit = _pairs(levels, yes)
    if step <= 0 or np.abs((x - x[0]) / step - np.round((x - x[0]) / step)).max() > 1e-6:
        raise _refused("step", f"{step:g}", "does not lead from level to level", "Give the step of the run.")
    if hit.all() or not hit.any():
        raise _refused("answers", "", "are all alike", "Go on until both answers came.")
    rarer_yes = bool(hit.sum() <= (~hit).sum())
    chosen = x[hit if rarer_yes else ~hit]
    lowest = chosen.min()
    steps = np.round((chosen - lowest) / step)
    n, a, b = len(steps), float(steps.sum()), float((steps**2).sum())
    middle = float(lowest) + step * (a / n + (-0.5 if rarer_yes else 0.5))
    return UpDown(middle, 1.620 * step * ((n * b - a * a) / n**2 + 0.029), n)


def reversal_mean(levels: Sequence[float], yes: Sequence[bool], step: float) -> float:
    """Mean of the levels from the first reversal on, with the level that would come next [unit of levels].

    Raises
    ------
    UnitError
        When the run never turned.
    """
    x, hit = _pairs(levels, yes)
    turned = np.flatnonzero(hit[1:] != hit[:-1])
    if not len(turned):
        raise _refused("answers", "", "are all alike", "Go on until both answers came.")
    following = x[-1] - step if hit[-1] else x[-1] + step
    return float(np.append(x[turned[0] + 1 :], following).mean())


def pooled(shares: Floats, weights: Floats) -> tuple[Floats, list[slice]]:
    """Pool adjacent violators: the nearest shares that never fall, and the stretches that were pooled.

    M. Ayer et al.: An empirical distribution function for sampling with incomplete information. Annals
    of Mathematical Statistics 26 (1955). [mem]
    """
    blocks: list[tuple[float, float, int, int]] = []
    for i, (share, weight) in enumerate(zip(shares, weights, strict=True)):
        block = (float(share), float(weight), i, i + 1)
        while blocks and blocks[-1][0] >= block[0]:
            last = blocks.pop()
            total = last[1] + block[1]
            block = ((last[0] * last[1] + block[0] * block[1]) / total, total, last[2], block[3])
        blocks.append(block)
    found = np.concatenate([np.full(stop - start, share) for share, _, start, stop in blocks])
    return found, [slice(start, stop) for _, _, start, stop in blocks]


def centred_isotonic(
    levels: Sequence[float], yes: Sequence[bool], target: float = 0.5, *, shrink: bool = True
) -> float:
    """Level at which a share `target` says yes, assuming only that yes gets no rarer upwards.

    Pooled stretches stand at their weighted middle, and between them it is a straight line. A. P. Oron,
    N. Flournoy: Centered isotonic regression. Statistics in Biopharmaceutical Research 9 (2017). [mem]

    Parameters
    ----------
    levels, yes
        Level and answer of each trial, in any order.
    target
        Share of yes [1].
    shrink
        Draw every share towards the target by one trial, which takes off the pull of an up-and-down run.

    Raises
    ------
    UnitError
        When the target lies outside of what was seen.
    """
    x, hit = _pairs(levels, yes)
    level, at = np.unique(x, return_inverse=True)
    n = np.bincount(at).astype(float)
    y = np.bincount(at, weights=hit.astype(float))
    share = (y + target) / (n + 1) if shrink else y / n
    flat, blocks = pooled(share, n)
    middle = np.array([np.average(level[b], weights=n[b]) for b in blocks])
    height = np.array([flat[b.start] for b in blocks])
    if not height[0] <= target <= height[-1]:
        raise _refused("target", f"{target:g}", "is outside of what was seen", "Try levels further out.")
    return float(np.interp(target, height, middle))


@dataclass(frozen=True, slots=True)
class SpearmanKarber:
    """Level at which half answer, by the trimmed Spearman-Karber method.

    Parameters
    ----------
    middle
        The level [unit of the levels].
    low, high
        95 % interval [same unit]; None where trimmed, for which no simple variance holds.
    """

    middle: float
    low: float | None
    high: float | None


def spearman_karber(
    levels: Sequence[float],
    trials: Sequence[float],
    yes: Sequence[float],
    *,
    trim: float = 0.0,
    logarithmic: bool = True,
) -> SpearmanKarber:
    """Mean of the thresholds between the shares `trim` and ``1 - trim``.

    M. A. Hamilton, R. C. Russo, R. V. Thurston: Trimmed Spearman-Karber method for estimating median
    lethal concentrations. Environmental Science and Technology 11 (1977). [mem]

    Parameters
    ----------
    levels
        Ascending levels; above 0 where `logarithmic`.
    trials, yes
        How many were tried, and how many answered, at each.
    trim
        Share cut off at either end, from 0 up to below 0.5 [1].
    logarithmic
        Whether thresholds spread evenly by factors.

    Raises
    ------
    UnitError
        When the shares do not reach from `trim` to ``1 - trim``.
    """
    raw, n = np.asarray(levels, float), np.asarray(trials, float)
    if logarithmic and raw.min() <= 0:
        raise _refused("levels", f"{raw.min():g}", "has no logarithm", "Leave out the level of zero.")
    x = np.log10(raw) if logarithmic else raw
    shares, _ = pooled(np.asarray(yes, float) / n, n)
    if not (0 <= trim < 0.5 and shares[0] <= trim and shares[-1] >= 1 - trim):
        text = f"{shares[0]:.0%} to {shares[-1]:.0%}"
        raise _refused("shares", text, f"do not reach from {trim:.0%} to {1 - trim:.0%}", "Trim more.")
    first = int(np.flatnonzero(shares <= trim)[-1])
    last = int(np.flatnonzero(shares >= 1 - trim)[0])
    p, z = shares[first : last + 1].copy(), x[first : last + 1].copy()
    if trim:
        z[[0, -1]] = np.interp([trim, 1 - trim], p, z)
        p[[0, -1]] = trim, 1 - trim
    p = (p - trim) / (1 - 2 * trim)
    middle = float((np.diff(p) * (z[1:] + z[:-1]) / 2).sum())
    back = (lambda v: float(10**v)) if logarithmic else float
    if trim:
        return SpearmanKarber(back(middle), None, None)
    inner = slice(1, -1)
    variance = (((x[2:] - x[:-2]) / 2) ** 2 * shares[inner] * (1 - shares[inner]) / n[inner]).sum()
    half = NORMAL_95 * float(np.sqrt(variance))
    return SpearmanKarber(back(middle), back(middle - half), back(middle + half))


def _pairs(
    levels: Sequence[float], yes: Sequence[bool]
) -> tuple[Floats, np.ndarray[tuple[int], np.dtype[np.bool_]]]:
    x, hit = np.asarray(levels, float), np.asarray(yes, bool)
    if len(x) != len(hit) or len(x) < 2:
        text = f"{len(x)} and {len(hit)}"
        raise _refused("levels and answers", text, "do not go together", "Give one answer for each level.")
    return x, hit


def _refused(field: str, value: str, message: str, remedy: str) -> UnitError:
    return UnitError(Problem(field, value, message, remedy))

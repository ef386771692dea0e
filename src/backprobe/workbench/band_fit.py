"""Fits of a threshold: a smooth curve to counts, and the posterior of one edge from a few readings.

`fit_binomial` is the classical fit of counts at levels (probit, logit, complementary log-log). It has no
answer for separated data, all no below and all yes above, which is what a careful sweep gives: there the
slope runs away. `edge_posterior` is for those: the edge and its width on a grid, with a prior of the
width, so that few readings give a wide and honest interval. `backprobe.workbench.staircase` lists the
others.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.errors import Problem, UnitError

Link = Literal["probit", "logit", "cloglog"]

ROUNDS = 100
TINY = 1e-12
"""Nearest that a fitted share comes to 0 or 1 [1]."""
SEPARATED = 1e-6
"""Deviance below which a fit reproduces every single answer."""

STEADY = 0.02
"""Middle of what the width of an edge may be [V]: noise of a controller input; common practice, no source."""
STEADY_SPREAD = 1.2
"""Spread of that width [ln]: 2 to 200 mV; common practice, no source."""
SLIP = 0.005
"""Chance that one answer was noted wrong: less than for a reading, since in a sweep the leads stay where
they are; common practice, no source."""
PLACES, WIDTHS = 241, 17
"""Points of the grid, along the edge's place and its width."""


@dataclass(frozen=True, slots=True, eq=False)
class BinomialFit:
    """A curve fitted to counts.

    Parameters
    ----------
    coefficients, covariance
        ``(k,)`` and ``(k, k)``, in the order of the design's columns.
    deviance
        Twice the log-likelihood missing to a perfect fit.
    """

    link: Link
    coefficients: Floats
    covariance: Floats
    deviance: float

    def level(self, share: float = 0.5, *, intercept: int = 0, slope: int = 1) -> tuple[float, float]:
        """Level at which a share answers, and its standard error by the delta method.

        Parameters
        ----------
        share
            Share of yes [1].
        intercept, slope
            Columns of the design that hold them.
        """
        b0, b1 = self.coefficients[intercept], self.coefficients[slope]
        level = float((_scale(self.link, share) - b0) / b1)
        gradient = np.array([-1 / b1, -level / b1])
        pick = np.ix_([intercept, slope], [intercept, slope])
        return level, float(np.sqrt(gradient @ self.covariance[pick] @ gradient))


def fit_binomial(
    design: Floats, trials: Floats, yes: Floats, link: Link = "probit", *, ridge: float = 0.0
) -> BinomialFit:
    """Fit counts by Fisher scoring.

    P. McCullagh, J. A. Nelder: Generalized Linear Models, chapters 2 and 4. [mem]

    Parameters
    ----------
    design
        ``(n, k)`` columns such as ones and levels.
    trials, yes
        ``(n,)`` how many were tried and how many answered.
    ridge
        Precision of a normal prior round zero on every coefficient; above 0 separated data have an answer.

    Raises
    ------
    UnitError
        For separated data without `ridge`.
    """
    X, n, y = (np.asarray(a, float) for a in (design, trials, yes))
    prior = ridge * np.eye(X.shape[1])
    start = _scale(link, (y + 0.5) / (n + 1))
    beta = np.linalg.lstsq(X, start, rcond=None)[0]
    best = _deviance(link, X @ beta, n, y) + ridge * float(beta @ beta)
    for _ in range(ROUNDS):
        eta = X @ beta
        p, slope = _curve(link, eta)
        weight = n * slope**2 / (p * (1 - p))
        score = X.T @ (weight * (y / n - p) / np.maximum(slope, TINY)) - prior @ beta
        step = np.linalg.lstsq(X.T @ (weight[:, None] * X) + prior, score, rcond=None)[0]
        for _ in range(30):
            tried = beta + step
            deviance = _deviance(link, X @ tried, n, y) + ridge * float(tried @ tried)
            if deviance <= best + 1e-12:
                break
            step = step / 2
        beta, done, best = tried, abs(best - deviance) < 1e-13 * (1 + deviance), deviance
        if done or (not ridge and best < SEPARATED):
            break
    if not ridge and best < SEPARATED and ((y == 0) | (y == n)).all():
        raise UnitError(
            Problem(
                "answers",
                "",
                "are separated: all no on one side and all yes on the other tell no slope",
                "Give a ridge above 0, or use the band estimate, which has a prior for it.",
            )
        )
    p, slope = _curve(link, X @ beta)
    information = X.T @ ((n * slope**2 / (p * (1 - p)))[:, None] * X) + prior
    return BinomialFit(link, beta, np.linalg.inv(information), _deviance(link, X @ beta, n, y))


def _curve(link: Link, eta: Floats) -> tuple[Floats, Floats]:
    """Share of yes and its derivative on the scale of the link."""
    from scipy.special import expit, ndtr

    if link == "logit":
        p = expit(eta)
        slope = p * (1 - p)
    elif link == "probit":
        p, slope = ndtr(eta), np.exp(-(eta**2) / 2) / np.sqrt(2 * np.pi)
    else:
        hazard = np.exp(np.minimum(eta, 30.0))
        p, slope = -np.expm1(-hazard), hazard * np.exp(-hazard)
    return np.clip(p, TINY, 1 - TINY), slope


def _scale(link: Link, share: float | Floats) -> Floats:
    """A share on the scale of the link."""
    from scipy.special import logit, ndtri

    p = np.asarray(share, float)
    if link == "cloglog":
        hazard: Floats = np.log(-np.log1p(-p))
        return hazard
    found: Floats = logit(p) if link == "logit" else ndtri(p)
    return found


def _deviance(link: Link, eta: Floats, n: Floats, y: Floats) -> float:
    from scipy.special import xlogy

    p, _ = _curve(link, eta)
    full = xlogy(y, y / n) + xlogy(n - y, 1 - y / n)
    return 2 * float((full - xlogy(y, p) - xlogy(n - y, 1 - p)).sum())


@dataclass(frozen=True, slots=True, eq=False)
class EdgePosterior:
    """Where one edge lies, and how wide it is, given the answers.

    Parameters
    ----------
    places, widths
        ``(e,)`` and ``(s,)`` grid of the edge and of its standard deviation [V].
    weight
        ``(e, s)`` posterior, summing to 1.
    log_evidence
        Natural logarithm of the probability of the answers, over the prior.
    """

    places: Floats
    widths: Floats
    weight: Floats
    log_evidence: float

    def quantile(self, share: float, bound: float = 0.0) -> float:
        """Place below which the edge lies with a probability [V].

        Parameters
        ----------
        share
            The probability [1].
        bound
            How far the meter may be off, alike for the whole sweep: a rectangular error [V].
        """
        step = self.places[1] - self.places[0]
        chance = np.concatenate([[0.0], np.cumsum(self.weight.sum(axis=1))])
        ends = np.append(self.places, self.places[-1] + step) - step / 2
        if bound <= 0:
            return float(np.interp(share, chance, ends))
        # Mean of the distribution over x - bound .. x + bound: what a rectangular error makes of it.
        area = np.concatenate([[0.0], np.cumsum((chance[1:] + chance[:-1]) / 2 * step)])

        def below(x: Floats) -> Floats:
            inside: Floats = np.interp(x, ends, area)
            beyond: Floats = inside + np.maximum(x - ends[-1], 0.0)
            return beyond

        x = np.linspace(ends[0] - bound, ends[-1] + bound, 4001)
        smooth = (below(x + bound) - below(x - bound)) / (2 * bound)
        return float(np.interp(share, smooth, x))

    @property
    def width(self) -> float:
        """Median of the edge's standard deviation [V]."""
        return float(np.interp(0.5, np.cumsum(self.weight.sum(axis=0)), self.widths))

    def information(self, volts: Floats) -> Floats:
        """``(v,)`` what one more answer at each voltage is expected to tell about the edge [bit].

        The mutual information of answer and edge: entropy of the answer less its mean entropy given
        the edge. T. M. Cover, J. A. Thomas: Elements of Information Theory, chapter 2. [mem]
        """
        p = _upper(np.asarray(volts, float), self.places, self.widths)
        certain = (_entropy(p) * self.weight).sum(axis=(1, 2))
        told: Floats = _entropy((p * self.weight).sum(axis=(1, 2))) - certain
        return told


def edge_posterior(
    volts: Floats,
    upper: Floats,
    trials: Floats,
    span: tuple[float, float],
    *,
    random: float = 0.0,
) -> EdgePosterior:
    """Posterior of an edge from answers below and above it.

    The chance of the upper answer is ``q + (1 - 2 q) Phi((v - e) / s)``: a normal edge at e of standard
    deviation s, and a slip q. Every e of `span` is alike likely beforehand; s is log-normal round 20 mV and
    the meter's own jitter. A slip keeps one wrong note from moving the edge without limit.

    Parameters
    ----------
    volts
        ``(n,)`` volts shown by the meter [V].
    upper, trials
        ``(n,)`` how often the upper answer came, of how many.
    span
        Where the edge may lie [V].
    random
        What differs from reading to reading: half a digit of the meter [V].
    """
    middle = float(np.hypot(STEADY, random))
    most = max(12 * middle, (span[1] - span[0]) / 3)
    widths = np.geomspace(middle / 10, most, WIDTHS)
    prior = np.exp(-(np.log(widths / middle) ** 2) / (2 * STEADY_SPREAD**2))
    prior /= prior.sum()
    data = (np.asarray(volts, float), np.asarray(upper, float), np.asarray(trials, float))
    places = np.linspace(*span, PLACES)
    weight, evidence = _weigh(places, widths, prior, data)
    chance = np.cumsum(weight.sum(axis=1))
    low, high = np.searchsorted(chance, [1e-5, 1 - 1e-5])
    if high - low < PLACES // 3:
        # All of it in a few cells: look closer. The evidence stays that of the whole span.
        fine = np.linspace(places[max(low - 2, 0)], places[min(high + 2, PLACES - 1)], PLACES)
        places, (weight, _) = fine, _weigh(fine, widths, prior, data)
    return EdgePosterior(places, widths, weight, evidence)


def _weigh(
    places: Floats, widths: Floats, prior: Floats, data: tuple[Floats, Floats, Floats]
) -> tuple[Floats, float]:
    volts, upper, trials = data
    p = _upper(volts, places, widths)
    log_like = np.tensordot(upper, np.log(p), 1) + np.tensordot(trials - upper, np.log1p(-p), 1)
    log_weight = log_like + np.log(prior)[None, :] - np.log(len(places))
    peak = log_weight.max()
    weight = np.exp(log_weight - peak)
    total = float(weight.sum())
    return weight / total, float(peak + np.log(total))


def _upper(volts: Floats, places: Floats, widths: Floats) -> Floats:
    """``(v, e, s)`` chance of the upper answer."""
    from scipy.special import ndtr

    z = (volts[:, None, None] - places[None, :, None]) / widths[None, None, :]
    found: Floats = SLIP + (1 - 2 * SLIP) * ndtr(z)
    return found


def _entropy(p: Floats) -> Floats:
    """Entropy of a yes or no [bit]."""
    found: Floats = -(p * np.log2(p) + (1 - p) * np.log2(1 - p))
    return found

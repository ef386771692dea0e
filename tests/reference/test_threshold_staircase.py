"""Thresholds from up-and-down runs: published runs with their published answers."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from backprobe.workbench.band_fit import edge_posterior, fit_binomial
from backprobe.workbench.staircase import centred_isotonic, dixon_mood, reversal_mean
from tests.reference.books import outside

HAMADA = "Hamada, Mang, Hoff 2019, Quality Engineering, table 1"
GORLA = "Gorla et al. 2017, runs as worked in the vignette of the R package upndown 0.2.0"

HEIGHTS = (
    "25.4 28.5 25.4 28.5 32.0 35.9 32.0 35.9 40.3 35.9 32.0 28.5 32.0 28.5 32.0 28.5 32.0 35.9 40.3 35.9 "
    "32.0 35.9 40.3 35.9 40.3"
)
FELL = "0 1 0 0 0 1 0 0 1 1 1 0 1 0 1 0 0 0 1 1 0 0 1 0 1"
RUN_951 = (36, 35, 36, 37, 38, 39, 38, 37, 38, 37, 36, 35, 36, 37, 36)
RUN_751 = (42, 41, 40, 39, 40, 41, 40, 41, 42, 41, 42, 41, 42)


def heights() -> tuple[np.ndarray, np.ndarray]:
    """Heights of the drops and whether the thing broke."""
    return np.array(HEIGHTS.split(), float), np.array(FELL.split(), float)


def answers(levels: tuple[int, ...]) -> list[bool]:
    """Yes where the next level is lower; both runs end in a yes."""
    return [after < now for now, after in pairwise(levels)] + [True]


@outside("threshold, staircase", HAMADA, "seen", figures=5)
def test_a_probit_of_a_25_step_staircase() -> None:
    h, y = heights()
    x = np.log10(h)
    fit = fit_binomial(np.column_stack([np.ones_like(x), x]), np.ones_like(x), y)
    b0, b1 = fit.coefficients
    # The published figures differ from the exact maximum in the last digits: iteration tolerance.
    assert b0 == pytest.approx(-20.77376, rel=1e-4)
    assert b1 == pytest.approx(13.56263, rel=1e-4)
    assert -b0 / b1 == pytest.approx(1.531691, rel=1e-6)
    assert 1 / b1 == pytest.approx(0.0737320, rel=1e-4)
    assert 10 ** (-b0 / b1) == pytest.approx(34.01661, rel=1e-5)


@outside("threshold, staircase", "standard error by the delta method", "calc", confidence="M")
def test_the_standard_error_of_that_middle() -> None:
    h, y = heights()
    x = np.log10(h)
    fit = fit_binomial(np.column_stack([np.ones_like(x), x]), np.ones_like(x), y)
    assert fit.level()[1] == pytest.approx(0.02081, abs=5e-5)


@outside("threshold, staircase", HAMADA, "seen", figures=2, confidence="M")
def test_the_posterior_of_an_edge_lies_between_the_likelihood_and_the_published_bayes_interval() -> None:
    # Published with a vague prior of the spread: 1.475 to 1.649. Without a prior 1.531691 +- 1.96 x 0.02081,
    # which is too narrow for 25 drops. Ours has a prior of the width, so it lies between the two.
    h, y = heights()
    found = edge_posterior(np.log10(h), y, np.ones_like(y), (1.3, 1.8))
    assert 1.475 < found.quantile(0.025) < 1.531691 - 1.96 * 0.02081
    assert 1.531691 + 1.96 * 0.02081 < found.quantile(0.975) < 1.649


@outside("threshold, Dixon-Mood", GORLA, "seen")
def test_dixon_mood_of_run_951() -> None:
    found = dixon_mood(RUN_951, answers(RUN_951), 1)
    assert found.counted == 7
    assert found.middle == pytest.approx(36.78571, abs=5e-6)


@outside("threshold, Dixon-Mood", "Dixon, Mood 1948, the formula by hand", "mem + calc", figures=3)
def test_dixon_mood_spreads_and_the_other_run() -> None:
    assert dixon_mood(RUN_951, answers(RUN_951), 1).spread == pytest.approx(1.766, abs=5e-4)
    found = dixon_mood(RUN_751, answers(RUN_751), 1)
    assert found.middle == pytest.approx(40.8333, abs=5e-5)
    assert found.spread == pytest.approx(0.947, abs=5e-4)


@outside("threshold, reversal mean", GORLA, "seen")
def test_the_mean_from_the_first_reversal_with_the_level_never_run() -> None:
    assert reversal_mean(RUN_751, answers(RUN_751), 1) == pytest.approx(40.90909, abs=5e-6)


@outside("threshold, isotonic", GORLA, "seen", figures=2)
def test_the_centred_isotonic_estimate() -> None:
    assert centred_isotonic(RUN_951, answers(RUN_951)) == pytest.approx(36.26829, abs=5e-6)
    assert centred_isotonic(RUN_751, answers(RUN_751)) == pytest.approx(41.17241, abs=5e-6)

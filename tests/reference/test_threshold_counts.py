"""Thresholds from counts at fixed levels: published data with their usual fits."""

from __future__ import annotations

import numpy as np
import pytest

from backprobe.workbench.band_fit import BinomialFit, Link, fit_binomial
from backprobe.workbench.staircase import spearman_karber
from tests.reference.books import outside

BLISS_DOSE = (1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839)
BLISS_TRIED = (59, 60, 62, 56, 63, 59, 62, 60)
BLISS_DEAD = (6, 13, 18, 28, 52, 53, 61, 60)
FINNEY_DOSE = (2.6, 3.8, 5.1, 7.7, 10.2)
FINNEY_TRIED = (50, 48, 46, 49, 50)
FINNEY_DEAD = (6, 16, 24, 42, 44)
MALES = (1, 4, 9, 13, 18, 20)
FEMALES = (0, 2, 6, 10, 12, 16)

BLISS = "Bliss 1935 (data as glmx BeetleMortality); fits as in textbooks"
TSK = "Hamilton et al. 1977, data; estimates of the EPA program as in the R package tsk"
DOSES_I, TRIED_I = (15.54, 20.47, 27.92, 35.98, 55.52), (20, 20, 20, 19, 20)
DOSES_V, TRIED_V = (7.8, 13, 22, 36, 60, 100), (10,) * 6
TRIMS = (0.0, 0.05, 0.10, 0.20)
SETS = {
    "1a": ("0 0 0 5.26 100", "43.89 44.16 44.16 44.16"),
    "1b": ("0 5 0 5.26 100", "43.27 44.16 44.16 44.16"),
    "1c": ("0 5 0 15.79 100", "41.73 42.53 42.79 42.91"),
    "1d": ("0 5 5 94.74 100", "31.36 31.71 31.71 31.71"),
    "1e": ("0 5 5 100 100", "30.80 31.48 31.48 31.48"),
    "4a": ("0 0 10 100 100 100", "26.75 27.20 27.38 27.38"),
    "4b": ("0 0 70 100 100 100", "19.70 19.52 19.36 19.07"),
    "4c": ("0 0 10 40 100 100", "36.14 36.96 37.49 38.18"),
    "4d": ("0 0 20 70 100 100", "29.55 29.69 29.79 29.74"),
    "4e": ("0 0 20 30 100 100", "36.11 37.06 38.05 40.23"),
}


def line(doses: object, tried: object, dead: object, link: Link = "probit") -> BinomialFit:
    """A straight line on the scale of a link."""
    x = np.asarray(doses, float)
    return fit_binomial(
        np.column_stack([np.ones_like(x), x]), np.asarray(tried, float), np.asarray(dead, float), link
    )


@outside("threshold, counts", BLISS, "seen + mem", figures=5)
@pytest.mark.parametrize(
    ("link", "b0", "b1", "deviance", "middle", "error"),
    [
        ("logit", -60.7175, 34.2703, 11.2322, 1.77172, 0.00386),
        ("probit", -34.9353, 19.7279, 10.1198, 1.77085, 0.00380),
        # 0.00362 is often given here: it belongs to the 63 % level, see below.
        ("cloglog", -39.5723, 22.0412, 3.4464, 1.77875, 0.00401),
    ],
)
def test_beetles(link: Link, b0: float, b1: float, deviance: float, middle: float, error: float) -> None:
    fit = line(BLISS_DOSE, BLISS_TRIED, BLISS_DEAD, link)
    assert fit.coefficients == pytest.approx([b0, b1], abs=6e-5)
    assert fit.deviance == pytest.approx(deviance, abs=6e-5)
    assert fit.level() == pytest.approx((middle, error), abs=6e-6)


@outside("threshold, counts", "Bliss 1935, refitted", "calc", confidence="M")
def test_the_other_error_of_the_beetles_is_that_of_the_63_percent_level() -> None:
    # 1 - 1/e is where the complementary log-log is 0: its error misses the term of the slope.
    fit = line(BLISS_DOSE, BLISS_TRIED, BLISS_DEAD, "cloglog")
    assert fit.level(1 - 1 / np.e)[1] == pytest.approx(0.00362, abs=6e-6)


@outside("threshold, counts", "Finney 1952, rotenone; published middle", "seen", figures=1)
def test_rotenone_as_published() -> None:
    fit = line(np.log10(FINNEY_DOSE), FINNEY_TRIED, FINNEY_DEAD)
    assert 10 ** fit.level()[0] == pytest.approx(4.85, abs=0.005)


@outside("threshold, counts", "Finney 1952, rotenone; refitted", "calc", figures=4)
def test_rotenone_depends_on_the_scale() -> None:
    fit = line(np.log10(FINNEY_DOSE), FINNEY_TRIED, FINNEY_DEAD)
    assert 10 ** fit.level()[0] == pytest.approx(4.8455, abs=5e-5)
    assert fit.coefficients == pytest.approx([-2.88746, 4.21320], abs=6e-6)
    assert line(FINNEY_DOSE, FINNEY_TRIED, FINNEY_DEAD, "logit").level()[0] == pytest.approx(5.259, abs=5e-4)


def budworm() -> BinomialFit:
    """Two sexes with a common slope: columns female, male, log2 of the dose."""
    x = np.tile(np.arange(6.0), 2)
    male = np.repeat([0.0, 1.0], 6)
    dead = np.array(FEMALES + MALES, float)
    return fit_binomial(np.column_stack([1 - male, male, x]), np.full(12, 20.0), dead, "logit")


@outside("threshold, counts", "Venables, Ripley: MASS, dose.p on the budworm data", "mem", figures=8)
@pytest.mark.parametrize(
    ("share", "level", "error"),
    [(0.25, 2.23126, 0.24991), (0.5, 3.26359, 0.22975), (0.75, 4.29591, 0.27469)],
)
def test_budworm_females(share: float, level: float, error: float) -> None:
    fit = budworm()
    assert fit.coefficients[2] == pytest.approx(1.06421, abs=6e-6)
    assert fit.deviance == pytest.approx(6.7571, abs=6e-5)
    assert fit.level(share, intercept=0, slope=2) == pytest.approx((level, error), abs=6e-6)


@outside("threshold, counts", "budworm data, refitted", "calc", figures=2)
def test_budworm_males_nearly_coincide_with_another_level_of_the_females() -> None:
    assert budworm().level(intercept=1, slope=2) == pytest.approx((2.22926, 0.22596), abs=6e-6)


@outside("threshold, Spearman-Karber", TSK, "seen", figures=4)
@pytest.mark.parametrize("name", SETS)
def test_trimmed_spearman_karber(name: str) -> None:
    shares, expected = ([float(v) for v in text.split()] for text in SETS[name])
    doses, tried = (DOSES_I, TRIED_I) if name.startswith("1") else (DOSES_V, TRIED_V)
    # Printed in percent: the counts are whole.
    dead = [round(p / 100 * n) for p, n in zip(shares, tried, strict=True)]
    found = [spearman_karber(doses, tried, dead, trim=t).middle for t in TRIMS]
    assert found == pytest.approx(expected, abs=0.0100001)


@outside("threshold, Spearman-Karber", "R package tsk, its first example", "seen", figures=3)
def test_spearman_karber_with_its_interval() -> None:
    found = spearman_karber((1, 10, 100, 1000), (20,) * 4, (0, 3, 17, 20))
    assert (found.middle, found.low, found.high) == pytest.approx((31.62278, 18.99717, 52.63942), abs=6e-6)

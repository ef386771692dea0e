"""Preferred values of resistors: series, look-ups and what dividers of them do (IEC 60063).

The lists and the irregular members are [seen] in two public implementations and follow from the
rounding rule; worked look-ups are [seen] in documentation of public programs; the rest is [calc].
"""

from __future__ import annotations

import pytest

from backprobe.workbench.preferred import (
    SERIES,
    divider_corners,
    nearest,
    nearest_few,
    next_down,
    next_up,
    series,
    worst_error,
)
from tests.reference.books import outside

SUBJECT = "preferred values"
STANDARD = "IEC 60063"
DOCS = "documentation of a public library of preferred values"

LISTS = {
    3: "10 22 47",
    6: "10 15 22 33 47 68",
    12: "10 12 15 18 22 27 33 39 47 56 68 82",
    24: "10 11 12 13 15 16 18 20 22 24 27 30 33 36 39 43 47 51 56 62 68 75 82 91",
    48: "100 105 110 115 121 127 133 140 147 154 162 169 178 187 196 205 215 226 237 249 261 274 287 301 316 "
    "332 348 365 383 402 422 442 464 487 511 536 562 590 619 649 681 715 750 787 825 866 909 953",
    96: "100 102 105 107 110 113 115 118 121 124 127 130 133 137 140 143 147 150 154 158 162 165 169 174 178 "
    "182 187 191 196 200 205 210 215 221 226 232 237 243 249 255 261 267 274 280 287 294 301 309 316 324 332 "
    "340 348 357 365 374 383 392 402 412 422 432 442 453 464 475 487 499 511 523 536 549 562 576 590 604 619 "
    "634 649 665 681 698 715 732 750 768 787 806 825 845 866 887 909 931 953 976",
}
IRREGULAR = {27: 26, 30: 29, 33: 32, 36: 35, 39: 38, 43: 42, 47: 46, 82: 83}


@outside(SUBJECT, STANDARD, "seen", figures=189)
def test_members_of_six_series() -> None:
    listed = {number: tuple(int(v) for v in text.split()) for number, text in LISTS.items()}
    assert sum(map(len, listed.values())) == 189
    assert {number: series(number) for number in listed} == listed


@outside(SUBJECT, STANDARD, "seen", figures=9)
def test_the_irregular_members_are_these_and_no_others() -> None:
    for number in SERIES:
        scale = 100 if number >= 48 else 10
        ruled = [round(scale * 10 ** (i / number)) for i in range(number)]
        departs = {a: b for a, b in zip(series(number), ruled, strict=True) if a != b}
        if number == 192:
            assert departs == {920: 919}
        else:
            # E48 and E96 have none; E3 to E12 have those of E24 that they hold.
            expected = {} if number >= 48 else {a: b for a, b in IRREGULAR.items() if a in series(number)}
            assert departs == expected


@outside(SUBJECT, STANDARD, "calc", figures=6)
def test_which_series_holds_which() -> None:
    assert set(series(48)) < set(series(96)) < set(series(192))
    assert set(series(3)) < set(series(6)) < set(series(12)) < set(series(24))
    # A list of 1 % parts does not hold the round values of 5 % ones.
    common = [v for v in series(24) if 10 * v in series(96)]
    assert common == [10, 11, 13, 15, 20, 75]
    assert next_up(4700, 96) == 4750


@outside(SUBJECT, STANDARD, "calc", figures=3)
@pytest.mark.parametrize(
    ("number", "percent", "below", "above"),
    [(12, 11.1, 12, 15), (24, 7.14, 13, 15), (48, 2.59, 169, 178), (96, 1.48, 133, 137)],
)
def test_worst_error_of_the_nearest_value(number: int, percent: float, below: int, above: int) -> None:
    error, one, other = worst_error(number)
    assert 100 * error == pytest.approx(percent, abs=0.05 if number == 12 else 0.005)
    assert (one, other) == (below, above)
    # It is met half-way, and nowhere within the decade is a wanted value worse off.
    wanted = [below + (above - below) / 2, *(100 * 10 ** (i / 977) for i in range(977))]
    off = [abs(nearest(w, number) - w) / w for w in wanted]
    assert off[0] == pytest.approx(error)
    assert max(off) <= error * (1 + 1e-12)


@outside(SUBJECT, DOCS, "seen", figures=6)
def test_published_look_ups() -> None:
    assert nearest(319, 24) == 330
    assert next_up(184, 96) == 187
    assert nearest_few(5000, 24, 3) == (4700, 5100, 5600)
    assert nearest(16_834.2, 96) == 16_900


@outside(SUBJECT, STANDARD, "calc")
@pytest.mark.parametrize("decade", [0.01, 1.0, 10.0, 1e3, 1e6])
def test_look_ups_go_on_from_decade_to_decade(decade: float) -> None:
    assert next_up(9.2 * decade, 24) == pytest.approx(10 * decade, rel=1e-12)
    assert next_down(0.99 * decade, 24) == pytest.approx(0.91 * decade, rel=1e-12)
    assert nearest(9.7 * decade, 24) == pytest.approx(10 * decade, rel=1e-12)
    for value in (1.0, 2.7, 8.2):
        exact = float(f"{value * decade:.6g}")
        assert next_up(exact, 12) == next_down(exact, 12) == nearest(exact, 12) == exact


@outside(SUBJECT, "arithmetic of a divider at its corners", "calc", figures=2)
@pytest.mark.parametrize(
    ("upper", "lower", "tolerance", "low", "high"),
    [
        (1e3, 1e3, 0.05, 0.475, 0.525),
        (1e3, 1e3, 0.01, 0.495, 0.505),
        (4e3, 1e3, 0.01, 0.19682, 0.20322),
        (1e3, 9e3, 0.01, 0.89819, 0.90178),
    ],
)
def test_corners_of_a_divider(upper: float, lower: float, tolerance: float, low: float, high: float) -> None:
    least, nominal, most = divider_corners(upper, lower, tolerance)
    # One of the figures is cut off, not rounded: 101/112 is 0.901786.
    assert least == pytest.approx(low, abs=6e-6)
    assert most == pytest.approx(high, abs=6e-6)
    assert nominal == lower / (upper + lower)

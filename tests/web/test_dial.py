"""How the meter is set for a check: a range that shows what is likely, where it does not find its own."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.check import Check, Outcome
from backprobe.diagnosis.checks import Candidate
from backprobe.web.check_view import dial_of
from backprobe.web.texts import texts

OL = 1e9
"""What a meter shows as over range in every range [ohm]."""


def check(kind: str, *highs: float, chance: float = 0.3) -> Check:
    """A check with one outcome up to each value."""
    outcomes = tuple(Outcome(0.0, high, "", ("x",), chance) for high in highs)
    candidate = Candidate(kind, Setup(()))
    return Check(candidate, 1.0, 1.0, outcomes, ())


@pytest.mark.parametrize(
    ("system", "said"), [(12.0, "20\u00a0V"), (24.0, "200\u00a0V"), (48.0, "200\u00a0V")]
)
def test_volts_are_set_for_what_the_alternator_gives(system: float, said: str) -> None:
    # 12 V gives up to 15 V and 24 V up to 30 V while it charges (common practice, no source).
    assert dial_of(check("volts", 0.4), system, texts("en")) == f"V DC, {said} or auto"
    assert dial_of(check("volts", 0.4), system, texts("de")) == f"V DC, {said} oder Auto"


@pytest.mark.parametrize(
    ("highs", "said"),
    [
        ((0.3, 95.0), "200\u00a0\u03a9"),
        ((95.0, 1500.0), "2\u00a0k\u03a9"),
        ((95.0, OL, inf), "200\u00a0\u03a9"),
        ((OL,), "200\u00a0\u03a9"),
        ((150e3,), "200\u00a0k\u03a9"),
    ],
)
def test_ohms_are_set_for_the_highest_that_is_no_over_range(highs: tuple[float, ...], said: str) -> None:
    assert dial_of(check("ohms", *highs), 12.0, texts("en")) == f"ohms, {said} or auto"


def test_what_is_hardly_ever_shown_sets_no_range_and_an_eye_none_at_all() -> None:
    rare = check("ohms", 95.0)
    rare = replace(rare, outcomes=(*rare.outcomes, Outcome(0.0, 5e4, "", ("y",), 0.001)))
    assert "200\u00a0\u03a9" in dial_of(rare, 12.0, texts("en"))
    assert dial_of(check("looked", 1.0), 12.0, texts("en")) == ""

"""Bayes' rule on the standard example of a rare fault and an imperfect look.

Prior 1 %, seen in 80 % when there, falsely in 9.6 % when not: 7.76 % [mem], 0.0776398 [calc].
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import backprobe as bp
from backprobe.diagnosis import seen
from backprobe.diagnosis.predict import SLIP
from backprobe.faults.catalogue import AS_BUILT, NONE_OF_THESE
from tests.reference.books import outside

SUBJECT = "diagnoses with known answers"
EXAMPLE = "textbook example of Bayes' rule"
PRIOR, SEEN, FALSE = 0.01, 0.80, 0.096

SHEET = "battery+ > fuse F1 5 A > key > seat switch > coil Y1 12 ohm > frame"
FAULT, OTHER = "coil Y1: winding open", "fuse F1: blown"


def hard(chance: float) -> float:
    """The chance to write down so that, with slips of the eye, the given one results."""
    return (chance - SLIP / 2) / (1 - SLIP)


@outside(SUBJECT, EXAMPLE, "mem + calc", figures=2)
def test_a_look_at_a_rare_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(seen.FOUND_BY_EYE, "part", hard(SEEN))
    monkeypatch.setattr(seen, "FALSE_SIGN", hard(FALSE))
    sheet = bp.sketch(SHEET)
    every = bp.Engine(sheet)
    # Rates that leave the fault 1 % of all that is possible.
    rest = 1 - AS_BUILT - NONE_OF_THESE
    rates = {FAULT: PRIOR / rest, OTHER: 1 - PRIOR / rest}
    circuit = replace(
        every.circuit,
        modes=tuple(replace(m, rate=rates[m.name]) for m in every.circuit.modes if m.name in rates),
    )
    monkeypatch.setattr("backprobe.diagnosis.engine.compile_sheet", lambda _: circuit)
    engine = bp.Engine(sheet)
    number = [m.name for m in engine.catalogue.modes].index(FAULT)
    assert engine.catalogue.prior_of(number) == pytest.approx(PRIOR)
    assert next(m for m in engine.catalogue.modes if m.name == FAULT).family == "part"
    answer = bp.rank(engine, "looked at coil Y1: bad, key on, seat seated, all plugged")
    found = answer.explanations
    # The example knows one fault at a time.
    single = np.array([len(rows) < 2 for rows in found.rows])
    mine = np.array([any(engine.catalogue.mode_of[r] == number for r in rows) for rows in found.rows])
    weight = np.exp(found.log_weight)
    # What the sheet does not know of looks bad as often as anything sound.
    whole = float(weight[single].sum()) + NONE_OF_THESE * FALSE
    posterior = float(weight[mine & single].sum()) / whole
    assert posterior == pytest.approx(0.0776398, abs=5e-7)
    assert posterior == pytest.approx(PRIOR * SEEN / (PRIOR * SEEN + (1 - PRIOR) * FALSE), rel=1e-9)
    assert round(100 * posterior, 2) == 7.76

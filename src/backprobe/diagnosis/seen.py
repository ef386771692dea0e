"""Chances of what was seen rather than measured: looks, swaps, unsteady needles, and slips of the eye."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.predict import SLIP
from backprobe.readings.model import Reading

FOUND_BY_EYE = {
    "copper": 0.6,
    "contact": 0.6,
    "wiring": 0.4,
    "part": 0.25,
    "source": 0.25,
    "electronics": 0.02,
}
"""Chance that looking at a faulty part shows it; common practice, no source."""
FALSE_SIGN = 0.08
"""Chance that a sound part looks bad; common practice, no source."""


def soften(chance: Floats) -> Floats:
    """A chance with the possibility that the observation itself was a slip."""
    result: Floats = (1 - SLIP) * np.clip(chance, 0, 1) + SLIP * 0.5
    return result


def chance_of_rows(
    engine: Engine, reading: Reading, rows: Sequence[tuple[int, ...]], circuit_chance: Floats
) -> Floats:
    """``(e,)`` chance of one observation, given the faults and what the circuit predicts of it."""
    modes = engine.catalogue.modes
    mode_of = engine.catalogue.mode_of
    if reading.kind in {"swapped", "looked"}:
        out = np.empty(len(rows))
        for e, row in enumerate(rows):
            faults = [modes[mode_of[r]] for r in row]
            mine = [f for f in faults if f.part == reading.subject]
            if reading.kind == "looked":
                seen = max((FOUND_BY_EYE[f.family] for f in mine), default=FALSE_SIGN)
                out[e] = 1 - seen if reading.seen == "fine" else seen
            else:
                cured = 0.02 if not mine else (0.95 if len(mine) == len(faults) else 0.4)
                out[e] = cured if reading.seen == "works now" else 1 - cured
        return out
    if reading.unsteady:
        out = np.full(len(rows), 0.02)
        for e, row in enumerate(rows):
            if any(modes[mode_of[r]].family in {"copper", "contact"} for r in row):
                out[e] = 0.25
        return out
    return circuit_chance

"""What a lamp looks like: a filament, an LED, or either lit by a controller in a pattern."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr

from backprobe.circuit.compiled import Floats
from backprobe.circuit.settle import effective_volts, rule_truth
from backprobe.circuit.solve import Solution
from backprobe.readings.model import Reading
from backprobe.sheet.driven_lamps import is_driven

LED_GLOWS = 0.05
"""Share of the current at which an LED is plainly lit from which it glimmers; common practice, no source."""
LED_SPREAD = 0.5
"""Spread of the logarithm of the current that the eye tells apart [1]; common practice, no source."""


def lamp_chance(solution: Solution, reading: Reading) -> Floats:
    """``(c,)`` chance that a lamp looks as it was seen."""
    circuit = solution.stage.circuit
    patterns = circuit.sheet.lamps.get(reading.subject)
    drawn = reading.subject in circuit.loads
    fed = patterns is None or is_driven(reading.subject, circuit.sheet.functions)
    looks = lamp_looks(solution, reading.subject) if drawn and fed else None
    if patterns is None:
        assert looks is not None
        return looks[reading.seen if reading.seen in looks else "lit"]
    shown = np.zeros(solution.count)
    any_pattern = np.zeros(solution.count, bool)
    for pattern, rule in patterns:
        truth = rule_truth(solution.stage, rule, solution.modes, solution.volts)
        any_pattern |= truth
        if pattern == reading.seen:
            shown = np.maximum(shown, truth)
    if looks is None:
        return np.where(any_pattern, 0.0, 1.0) if reading.seen == "dark" else shown
    # Drawn in a run, it has to see its volts too: a burnt bulb shows no pattern, a stuck driver lights it.
    if reading.seen in {"dark", "dim"}:
        return looks[reading.seen]
    steady = (~any_pattern).astype(float) if reading.seen == "lit" else 0.0
    result: Floats = np.maximum(shown, steady) * looks["lit"]
    return result


def lamp_looks(solution: Solution, name: str) -> dict[str, Floats]:
    """Chances that a lamp drawn in a run looks lit, dim or dark."""
    circuit = solution.stage.circuit
    load = circuit.loads[name]
    volts = effective_volts(circuit, load.branch, solution.volts, solution.currents)
    if load.kind == "led":
        return glimmer(volts / solution.values[:, circuit.parameter_of[load.volts]])
    return brightness(volts / circuit.sheet.system_volts)


def brightness(share: Floats) -> dict[str, Floats]:
    """Chances that a filament looks lit, dim or dark at a share of its volts; common practice, no source."""
    bright, glows = ndtr((share - 0.6) / 0.05), ndtr((share - 0.25) / 0.05)
    return {"lit": bright, "dim": glows - bright, "dark": 1 - glows}


def glimmer(share: Floats) -> dict[str, Floats]:
    """Chances that an LED looks lit, dim or dark at a share of the current that lights it plainly."""
    log = np.log(np.maximum(share, 1e-9))
    bright, glows = ndtr(log / LED_SPREAD), ndtr((log - np.log(LED_GLOWS)) / LED_SPREAD)
    return {"lit": bright, "dim": glows - bright, "dark": 1 - glows}

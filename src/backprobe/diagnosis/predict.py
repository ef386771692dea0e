"""What a batch of circuits predicts for a set of readings, and how that depends on every parameter."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from backprobe.circuit.compiled import Circuit, Floats
from backprobe.circuit.settle import effective_volts, input_of, rule_truth
from backprobe.circuit.setup import VOLTMETER_OHMS
from backprobe.circuit.solve import Solution
from backprobe.readings.model import GAIN, Reading

SLIP = 0.03
"""Chance that a reading is a slip: wrong cavity, wrong range, misheard; common practice, no source."""

LEADS = 0.25
"""Resistance of meter leads [ohm]: 0.2 to 0.5 ohm in a published meter guide, partly zeroed."""

OVER_RANGE = 2e7
"""Resistance above which a handheld shows over-range [ohm]; common practice, no source."""

FLOOR = {"volts": 3e-3, "amps": 1e-3, "ohms": 1e-3}
"""What a circuit model leaves out (ripple, offsets, touch) [V, A, ln ohm]; common practice, no source."""

GHOST = 0.1
GHOST_OHMS = 3e5
"""What a floating end picks up on a high-impedance meter [V], and from what resistance on [ohm]; common
practice, no source."""

CHATTER_SPREAD = 4.0
"""Spread of a prediction in a circuit that chatters [V]: the number means little."""


@dataclass(frozen=True, slots=True)
class Prediction:
    """Predictions of one numeric reading for a batch.

    Parameters
    ----------
    mean
        ``(c,)`` predicted value in the scale of the comparison: volts, amps or ln ohms.
    loading
        ``(c, p)`` its derivative by each parameter (by its logarithm where logarithmic).
    extra
        ``(c,)`` additional variance of circuits that do not come to rest.
    """

    mean: Floats
    loading: Floats
    extra: Floats


BURNS_ABOVE = {"wire": 15.0, "contact": 10.0, "switch": 10.0, "splice": 15.0, "relay": 30.0}
"""Continuous current that wiring of a guard circuit does not survive [A]; common practice, no source."""

BURNT = -4.0
"""Log factor of an explanation whose current would have burnt something: it would have been seen."""


def burn_limits(circuit: Circuit) -> Floats:
    """``(b,)`` what each branch survives [A]: `BURNS_ABOVE`, or what its fuse or cable was chosen for."""
    parts = circuit.sheet.parts
    return np.array(
        [
            BURNS_ABOVE.get(parts[b.owner].kind, np.inf) if b.owner in parts else np.inf
            for b in circuit.branches
        ]
    )


def burns(solution: Solution, limits: Floats) -> Floats:
    """``(c,)`` log factor of circuits in which a thin conductor would carry more than it survives."""
    share = np.abs(solution.currents[:, : len(limits)]) / limits
    result: Floats = BURNT * np.clip(2 * (share.max(axis=1) - 1), 0, 1)
    return result


def selector_of(circuit: Circuit, reading: Reading) -> Floats:
    """``(n,)`` selector of red minus black."""
    return circuit.pair(circuit.node(reading.red), circuit.node(reading.black))


def predict_port(solution: Solution, selector: Floats) -> tuple[Floats, Floats, Floats]:
    """What two leads see.

    Returns
    -------
    volts, ohms, across
        ``(c,)`` open-circuit volts [V], ``(c,)`` resistance seen [ohm] and ``(c, b)`` the volts
        that one ampere into red and out of black puts across each branch [ohm].
    """
    transfer = solution.transfer(selector)
    return solution.volts @ selector, transfer @ selector, transfer @ solution.stage.incidence.T


def loading_of(solution: Solution, across: Floats) -> Floats:
    """``(c, p)`` derivative of the volts between two leads by every parameter.

    Adjoint: with ``l = A^-1 c`` the derivative by a conductance is ``-(k'l)(k'v + e)``, hence by
    the logarithm of a resistance ``(k'l)`` times the branch current without its constant source.
    """
    circuit = solution.stage.circuit
    base = len(circuit.branches)
    pushed = np.flatnonzero(circuit.amps_of >= 0)
    passive = solution.currents[:, :base].copy()
    loading = np.zeros((solution.count, len(circuit.parameters)))
    if pushed.size:
        constant = np.where(solution.driven[:, pushed] != 0, solution.driven[:, pushed], 0.0)
        passive[:, pushed] -= constant
        np.add.at(loading.T, circuit.amps_of[pushed], (-across[:, pushed] * constant).T)
    loading[:, circuit.ohms_of] += across[:, :base] * passive
    sources = np.flatnonzero(circuit.emf_of >= 0)
    if sources.size:
        gain = -across[:, sources] * solution.siemens[:, sources] * circuit.emf_sign[sources]
        np.add.at(loading.T, circuit.emf_of[sources], gain.T)
    return loading


def predict_number(solution: Solution, reading: Reading) -> Prediction:
    """Predict a numeric reading: loaded volts, ln of ohms with leads, or amps."""
    circuit = solution.stage.circuit
    extra = np.where(solution.chatters, CHATTER_SPREAD**2, 0.0)
    if reading.kind == "amps":
        branch = len(circuit.branches) + [a.kind for a in reading.setup.attached].index("ammeter")
        selector = solution.stage.incidence[branch]
        _, _, across = predict_port(solution, selector)
        siemens = solution.siemens[:, branch]
        return Prediction(
            solution.currents[:, branch], loading_of(solution, across) * siemens[:, None], extra
        )
    selector = selector_of(circuit, reading)
    volts, ohms, across = predict_port(solution, selector)
    if reading.kind == "volts":
        share = VOLTMETER_OHMS / (VOLTMETER_OHMS + ohms)
        extra = extra + (GHOST * ohms / (ohms + GHOST_OHMS)) ** 2
        return Prediction(volts * share, loading_of(solution, across) * share[:, None], extra)
    base = len(circuit.branches)
    seen = np.clip(ohms + LEADS, 1e-3, 1e9)
    loading = np.zeros((solution.count, len(circuit.parameters)))
    loading[:, circuit.ohms_of] = across[:, :base] ** 2 * solution.siemens[:, :base]
    return Prediction(np.log(seen), loading / seen[:, None], extra)


def noise_of(readings: list[Reading]) -> tuple[Floats, Floats]:
    """Measured values and the covariance of the meter's own errors.

    Returns
    -------
    measured, covariance
        ``(r,)`` in the scale of `Prediction.mean` and ``(r, r)``: digits apart, gain in common
        for all readings of one quantity, both rectangular.
    """
    count = len(readings)
    measured = np.array([np.log(max(r.value + 0.0, 1e-3)) if r.kind == "ohms" else r.value for r in readings])
    covariance = np.zeros((count, count))
    for kind, bound in GAIN.items():
        rows = [i for i, r in enumerate(readings) if r.kind == kind]
        if not rows:
            continue
        shape = np.zeros(count)
        for i in rows:
            shape[i] = 1.0 if kind == "ohms" else readings[i].value
            own = readings[i].own_spread
            if kind == "ohms":
                # Leads and touch: a fifth of an ohm or so matters only for small values.
                own = (own**2 + 0.12**2) ** 0.5 / max(readings[i].value, 0.05)
            covariance[i, i] += own**2 + FLOOR[kind] ** 2
        covariance += (bound**2 / 3) * np.outer(shape, shape)
    return measured, covariance


def function_works(solution: Solution, name: str) -> Floats:
    """``(c,)`` probability that a function works: every load sees its working volts."""
    circuit = solution.stage.circuit
    function = circuit.sheet.functions[name]
    chance = np.ones(solution.count)
    for load_name in function.loads:
        load = circuit.loads[load_name]
        k = circuit.parameter_of[load.volts]
        volts = effective_volts(circuit, load.branch, solution.volts, solution.currents)
        spread = np.hypot(circuit.spread[k], 0.01 * circuit.sheet.system_volts)
        chance = chance * ndtr((volts - solution.values[:, k]) / spread)
    if not function.loads:
        on = np.ones(solution.count, bool)
        for i, device in enumerate(circuit.devices):
            if getattr(device, "output", "") in function.drives:
                on &= solution.modes[:, i]
        chance = np.where(on, 1.0, 0.0)
    return np.where(solution.chatters, 0.1 * chance, chance)


def chance_of(solution: Solution, reading: Reading) -> Floats:
    """``(c,)`` probability of a reading that is not a number, before slips."""
    circuit = solution.stage.circuit
    if reading.kind == "works":
        works = function_works(solution, reading.subject)
        return works if reading.seen == "works" else 1 - works
    if reading.kind == "click":
        pulled = solution.modes[:, circuit.device_of[f"{reading.subject}.armature"]].astype(float)
        return pulled if reading.seen == "clicks" else 1 - pulled
    if reading.kind == "code":
        return _band_chance(solution, reading)
    if reading.kind == "lamp":
        return _lamp_chance(solution, reading)
    if reading.kind == "tester":
        lamp = [a.kind for a in reading.setup.attached].index("test lamp")
        entry = reading.setup.attached[lamp]
        share = np.abs(solution.across(entry.red, entry.black)) / circuit.sheet.system_volts
        return brightness(share)[reading.seen]
    if reading.kind == "ohms" and reading.over_range:
        _, ohms, _ = predict_port(solution, selector_of(circuit, reading))
        chance: Floats = ndtr(np.log(np.clip(ohms, 1e-3, 1e12) / OVER_RANGE) / 0.5)
        return chance
    return np.ones(solution.count)


def _band_chance(solution: Solution, reading: Reading) -> Floats:
    entry = input_of(solution.stage.circuit, reading.subject)
    assert entry is not None
    # A grounded input may sit a hair below its own ground; no band begins below zero.
    level = np.maximum(solution.across(entry.node, entry.ground), 0.0)
    spread = 0.01 * np.abs(level) + 0.02
    chance = np.zeros(solution.count)
    for band in entry.bands:
        if band.meaning == reading.seen:
            below = ndtr((band.low - level) / spread) if band.low > 0 else 0.0
            chance += ndtr((band.high - level) / spread) - below
    return chance


def _lamp_chance(solution: Solution, reading: Reading) -> Floats:
    circuit = solution.stage.circuit
    patterns = circuit.sheet.lamps.get(reading.subject)
    if patterns is not None:
        shown = np.zeros(solution.count)
        any_pattern = np.zeros(solution.count, bool)
        for pattern, rule in patterns:
            truth = rule_truth(solution.stage, rule, solution.modes, solution.volts)
            any_pattern |= truth
            if pattern == reading.seen:
                shown = np.maximum(shown, truth)
        return np.where(any_pattern, 0.0, 1.0) if reading.seen == "dark" else shown
    load = circuit.loads[reading.subject]
    volts = effective_volts(circuit, load.branch, solution.volts, solution.currents)
    share = volts / circuit.sheet.system_volts
    seen = reading.seen if reading.seen in {"lit", "dim", "dark"} else "lit"
    return brightness(share)[seen]


def brightness(share: Floats) -> dict[str, Floats]:
    """Chances that a filament looks lit, dim or dark at a share of its volts; common practice, no source."""
    bright, glows = ndtr((share - 0.6) / 0.05), ndtr((share - 0.25) / 0.05)
    return {"lit": bright, "dim": glows - bright, "dark": 1 - glows}

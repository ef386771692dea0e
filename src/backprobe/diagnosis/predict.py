"""What a batch of circuits predicts for a set of readings, and how that depends on every parameter."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.special import ndtr

from backprobe.circuit.compiled import Circuit, Floats, Ints
from backprobe.circuit.settle import effective_volts, heard, input_of
from backprobe.circuit.setup import VOLTMETER_OHMS
from backprobe.circuit.solve import Solution, transfers_of
from backprobe.diagnosis.lamp_looks import brightness, lamp_chance
from backprobe.readings.model import GAIN, Reading
from backprobe.sheet.anatomy import Melter

SLIP = 0.03
"""Chance that a reading is a slip: wrong cavity, wrong range, misheard; common practice, no source."""

LEADS = 0.25
"""Resistance of meter leads [ohm]: 0.2 to 0.5 ohm in a published meter guide, partly zeroed."""

TOUCH = 0.12
TOUCH_ZEROED = 0.05
"""Spread of what leads and touch add to ohms, and what is left of it once they were taken off [ohm];
common practice, no source."""

TEST_AMPS = 3.9e-4
TEST_SPREAD = 0.78
"""Test current of an ohmmeter [A] and its spread [ln]: 0.1 to 1.5 mA by meter and range; common
practice, no source."""

TEST_VOLTS = 0.4
"""What drives the test current in the high ranges [V]; common practice, no source."""

CONFUSED_ABOVE = 2.0
"""Volts of its own between two points from which an ohmmeter may show over-range as well [V]."""

NO_VOLTS = 1e-5
"""Volts between two points that no ohmmeter notices [V]."""

BEEPS_BELOW = 30.0
"""Resistance below which a meter beeps [ohm]; common practice, no source."""

CARRIES = 0.8
"""Share of a load's current from which a fuse counts as in front of it [1]."""

FUSE_SPREAD = 0.2
"""Spread of the current at which a fuse opens while one looks on [ln]; common practice, no source."""

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


BURNS_ABOVE = {
    "wire": 15.0,
    "contact": 10.0,
    "switch": 10.0,
    "changeover switch": 10.0,
    "splice": 15.0,
    "relay": 30.0,
}
"""Continuous current that wiring of a guard circuit does not survive [A]; common practice, no source."""

GLOWS_ABOVE = 25.0
"""Heat in one spot that such wiring does not survive, a soldering iron's [W]; common practice, no source."""

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


def heat_of(solution: Solution) -> Floats:
    """``(c, b)`` what each branch turns into heat, or gives as a source [W]."""
    base = len(solution.stage.circuit.branches)
    siemens = solution.siemens[:, :base]
    ohms = np.divide(1.0, siemens, out=np.zeros_like(siemens), where=siemens > 0)
    heat: Floats = solution.currents[:, :base] ** 2 * ohms
    return heat


def burns(solution: Solution, limits: Floats) -> Floats:
    """``(c,)`` log factor of circuits in which thin wiring would carry, or heat up in one spot, too much.

    Parameters
    ----------
    limits
        ``(2, b)`` what each branch survives [A] and [W].
    """
    share = np.maximum(
        np.abs(solution.currents[:, : limits.shape[1]]) / limits[0], heat_of(solution) / limits[1]
    )
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
    volts, ohms, across = _ports(solution, selector[None], solution.transfer(selector)[None])
    return volts[0], ohms[0], across[0]


def _ports(solution: Solution, selectors: Floats, transfer: Floats) -> tuple[Floats, Floats, Floats]:
    """The same for several pairs of leads ``(k, n)``: ``(k, c)``, ``(k, c)`` and ``(k, c, b)``.

    Parameters
    ----------
    transfer
        ``(k, c, n)`` each circuit's inverse matrix times the selectors [ohm].
    """
    ohms = np.einsum("kcn,kn->kc", transfer, selectors)
    return selectors @ solution.volts.T, ohms, transfer @ solution.stage.incidence.T


def loading_of(solution: Solution, across: Floats) -> Floats:
    """``(..., c, p)`` derivative of the volts between two leads by every parameter.

    Adjoint: with ``l = A^-1 c`` the derivative by a conductance is ``-(k'l)(k'v + e)``, hence by
    the logarithm of a resistance ``(k'l)`` times the branch current without its constant source.

    Parameters
    ----------
    across
        ``(..., c, b)``; see `predict_port`.
    """
    circuit = solution.stage.circuit
    base = len(circuit.branches)
    pushed = np.flatnonzero(circuit.amps_of >= 0)
    passive = solution.currents[:, :base].copy()
    loading = np.zeros((*across.shape[:-1], len(circuit.parameters)))
    if pushed.size:
        constant = np.where(solution.driven[:, pushed] != 0, solution.driven[:, pushed], 0.0)
        passive[:, pushed] -= constant
        _add(loading, circuit.amps_of[pushed], -across[..., pushed] * constant)
    _add(loading, circuit.ohms_of, across[..., :base] * passive)
    sources = np.flatnonzero(circuit.emf_of >= 0)
    if sources.size:
        gain = -across[..., sources] * solution.siemens[:, sources] * circuit.emf_sign[sources]
        _add(loading, circuit.emf_of[sources], gain)
    return loading


def _add(loading: Floats, parameters: Ints, gain: Floats) -> None:
    """Add the branches' derivatives ``(..., b)`` to their parameters', of which branches may share one."""
    first, again = _parted(parameters.tobytes())
    loading[..., parameters[first]] += gain[..., first]
    for k in again:
        loading[..., parameters[k]] += gain[..., k]


@lru_cache(maxsize=64)
def _parted(parameters: bytes) -> tuple[Ints, tuple[int, ...]]:
    """Places of the parameters ``(b,)`` met for the first time, and of those met before."""
    values = np.frombuffer(parameters, np.int64)
    _, first = np.unique(values, return_index=True)
    return first, tuple(np.setdiff1d(np.arange(values.size), first).tolist())


def predict_number(solution: Solution, reading: Reading) -> Prediction:
    """Predict a numeric reading: loaded volts, ln of ohms with leads, or amps."""
    circuit = solution.stage.circuit
    if reading.kind == "amps":
        branch = len(circuit.branches) + [a.kind for a in reading.setup.attached].index("ammeter")
        _, _, across = predict_port(solution, solution.stage.incidence[branch])
        siemens = solution.siemens[:, branch]
        return Prediction(
            solution.currents[:, branch], loading_of(solution, across) * siemens[:, None], _restless(solution)
        )
    found = predict_together([(solution, [reading])])[0]
    return Prediction(found.mean[0], found.loading[0], found.extra[0])


def predict_together(asked: Sequence[tuple[Solution, Sequence[Reading]]]) -> list[Prediction]:
    """Predict several readings at once, in each setup all of volts or all of ohms.

    Returns
    -------
    predictions
        Of each setup, with ``(k, c)`` means and extra variances and ``(k, c, p)`` loadings.
    """
    selectors = [np.array([selector_of(s.stage.circuit, r) for r in readings]) for s, readings in asked]
    transfers = transfers_of([(s, each) for (s, _), each in zip(asked, selectors, strict=True)])
    return [
        _numbers(solution, readings, *_ports(solution, each, transfer))
        for (solution, readings), each, transfer in zip(asked, selectors, transfers, strict=True)
    ]


def _numbers(
    solution: Solution, readings: Sequence[Reading], volts: Floats, ohms: Floats, across: Floats
) -> Prediction:
    circuit = solution.stage.circuit
    extra = np.repeat(_restless(solution)[None], len(readings), axis=0)
    if readings[0].kind == "volts":
        share = VOLTMETER_OHMS / (VOLTMETER_OHMS + ohms)
        extra += (GHOST * ohms / (ohms + GHOST_OHMS)) ** 2
        return Prediction(volts * share, loading_of(solution, across) * share[..., None], extra)
    base = len(circuit.branches)
    both = [ohms_shown(r, v, o) for r, v, o in zip(readings, volts, ohms, strict=True)]
    shown, pushed = np.array([s for s, _ in both]), np.array([p for _, p in both])
    loading = np.zeros((*volts.shape, len(circuit.parameters)))
    _add(loading, circuit.ohms_of, across[..., :base] ** 2 * solution.siemens[:, :base])
    live = pushed != 0
    if live.any():
        # Its own volts are read as ohms too, by a test current that nobody knows well.
        own = loading_of(solution, across) * (pushed / np.where(live, volts, 1.0))[..., None]
        loading = np.where(live[..., None], loading + own, loading)
        extra += np.minimum((pushed / shown * TEST_SPREAD) ** 2, (2 * TEST_SPREAD) ** 2)
    return Prediction(np.log(np.abs(shown)), loading / shown[..., None], extra)


def _restless(solution: Solution) -> Floats:
    """``(c,)`` variance of whatever is read in circuits that do not come to rest [V2, A2 or 1]."""
    return np.where(solution.chatters, CHATTER_SPREAD**2, 0.0)


def ohms_shown(reading: Reading, volts: Floats, ohms: Floats) -> tuple[Floats, Floats]:
    """What an ohmmeter makes of a resistance with volts of its own: ``R + V / I``, I its test current.

    Parameters
    ----------
    volts, ohms
        ``(c,)`` open-circuit volts red to black [V] and resistance [ohm] between the leads.

    Returns
    -------
    shown, pushed
        ``(c,)`` with its sign, never nearer to zero than a tenth of its terms, and ``(c,)`` the part
        of it that is no resistance [ohm].
    """
    whole = ohms + leads_of(reading)
    test = np.minimum(TEST_AMPS, TEST_VOLTS / np.maximum(whole, 1e-3))
    pushed = np.where((whole < OVER_RANGE) & (np.abs(volts) > NO_VOLTS), volts / test, 0.0)
    size = np.clip(np.maximum(np.abs(whole + pushed), 0.1 * (whole + np.abs(pushed))), 1e-3, 1e9)
    return np.where(whole + pushed < 0, -size, size), pushed


def leads_of(reading: Reading) -> float:
    """What the meter's leads add to a reading of ohms [ohm]; nothing once they were taken off."""
    return LEADS if reading.leads is None else 0.0


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
                touch = TOUCH if readings[i].leads is None else TOUCH_ZEROED
                own = (own**2 + touch**2) ** 0.5 / max(readings[i].value, 0.05)
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
        chance = chance * _fuses_hold(solution, load.branch)
    if not function.loads:
        on = np.ones(solution.count, bool)
        for i, device in enumerate(circuit.devices):
            if getattr(device, "output", "") in function.drives:
                on &= solution.modes[:, i]
        chance = np.where(on, 1.0, 0.0)
    return np.where(solution.chatters, 0.1 * chance, chance)


def chance_of(solution: Solution, reading: Reading) -> Floats:
    """``(c,)`` probability of a reading that is not a number, before slips."""
    kind = "over-range" if reading.kind == "ohms" and reading.over_range else reading.kind
    chance = _CHANCES.get(kind)
    return np.ones(solution.count) if chance is None else chance(solution, reading)


def _works_chance(solution: Solution, reading: Reading) -> Floats:
    works = function_works(solution, reading.subject)
    return works if reading.seen == "works" else 1 - works


def _click_chance(solution: Solution, reading: Reading) -> Floats:
    device = solution.stage.circuit.device_of[f"{reading.subject}.armature"]
    pulled = solution.modes[:, device].astype(float)
    return pulled if reading.seen == "clicks" else 1 - pulled


def _tester_chance(solution: Solution, reading: Reading) -> Floats:
    lamp = [a.kind for a in reading.setup.attached].index("test lamp")
    entry = reading.setup.attached[lamp]
    share = np.abs(solution.across(entry.red, entry.black)) / solution.stage.circuit.sheet.system_volts
    return brightness(share)[reading.seen]


def _over_range_chance(solution: Solution, reading: Reading) -> Floats:
    volts, ohms, _ = predict_port(solution, selector_of(solution.stage.circuit, reading))
    chance: Floats = ndtr(np.log(np.clip(ohms, 1e-3, 1e12) / OVER_RANGE) / 0.5)
    return np.where(np.abs(volts) > CONFUSED_ABOVE, np.maximum(chance, 0.5), chance)


def _beep_chance(solution: Solution, reading: Reading) -> Floats:
    volts, ohms, _ = predict_port(solution, selector_of(solution.stage.circuit, reading))
    shown, pushed = ohms_shown(reading, volts, ohms)
    spread = np.hypot(0.6, np.minimum(np.abs(pushed / shown), 2.0) * TEST_SPREAD)
    beeps: Floats = ndtr(np.log(BEEPS_BELOW / np.abs(shown)) / spread)
    return beeps if reading.seen == "beeps" else 1 - beeps


def _fuses_hold(solution: Solution, branch: str) -> Floats:
    """``(c,)`` probability that every fuse which carries a load's current goes on carrying it."""
    circuit = solution.stage.circuit
    needed = CARRIES * np.abs(solution.currents[:, circuit.branch_of[branch]])
    chance = np.ones(solution.count)
    for device in circuit.devices:
        if isinstance(device, Melter):
            b = circuit.branch_of[device.branch]
            through = np.abs(solution.currents[:, b])
            opens_at = solution.values[:, circuit.parameter_of[device.amps]]
            opens = ndtr(np.log(np.maximum(through, 1e-6) / opens_at) / FUSE_SPREAD)
            chance = chance * np.where(through >= needed, 1 - opens, 1.0)
    return chance


def melt_chance(solution: Solution, fuse: str) -> Floats:
    """``(c,)`` probability that a whole fuse opens in this setup."""
    circuit = solution.stage.circuit
    chance = np.zeros(solution.count)
    for i, device in enumerate(circuit.devices):
        if not isinstance(device, Melter):
            continue
        b = circuit.branch_of[device.branch]
        if circuit.branches[b].owner == fuse:
            opens_at = solution.values[:, circuit.parameter_of[device.amps]]
            share = np.clip(np.abs(solution.currents[:, b]) / opens_at, 1e-6, None)
            chance = np.where(solution.modes[:, i], 1.0, ndtr(np.log(share) / FUSE_SPREAD))
    return chance


def _band_chance(solution: Solution, reading: Reading) -> Floats:
    entry = input_of(solution.stage.circuit, reading.subject)
    assert entry is not None
    # A grounded input may sit a hair below its own ground; no band begins below zero.
    level = np.maximum(solution.across(entry.node, entry.ground), 0.0)
    spread = 0.01 * np.abs(level) + 0.02
    chance = np.zeros(solution.count)
    for band in entry.bands:
        if band.meaning == reading.seen:
            # Between the edges of a hysteresis either meaning may have been kept: half a chance for each.
            for low, high in ((band.low, band.high), band.falling or (band.low, band.high)):
                below = ndtr((low - level) / spread) if low > 0 else 0.0
                chance += 0.5 * (ndtr((high - level) / spread) - below)
    if not entry.quiet:
        return chance
    circuit = solution.stage.circuit
    known = heard(circuit, entry, reading.seen, solution.modes, np.ones(solution.count, bool))
    driving = solution.modes[:, circuit.device_of[entry.quiet]]
    return np.where(known, np.where(driving, 1.0, chance), 0.0)


_CHANCES: dict[str, Callable[[Solution, Reading], Floats]] = {
    "works": _works_chance,
    "click": _click_chance,
    "code": _band_chance,
    "lamp": lamp_chance,
    "tester": _tester_chance,
    "over-range": _over_range_chance,
    "beeper": _beep_chance,
    "fuse": lambda solution, reading: melt_chance(solution, reading.subject),
}
"""How likely a circuit makes what was seen, by the kind of reading."""

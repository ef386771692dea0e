"""The kinds of slip that a reading can be, each with what the meter would then show.

A kind gives its variants: one other cavity, one other position, one other place for black. Each
variant says how likely it makes the number that was read. A new kind is one function and one entry
of `SLIP_KINDS`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from math import exp, inf, log

from backprobe.diagnosis.predict import TEST_AMPS, TEST_SPREAD
from backprobe.diagnosis.slip_case import SlipCase, log_density
from backprobe.readings.model import Reading
from backprobe.readings.points import reachable_points

POINTS_OF_BLACK = frozenset({"battery-", "frame"})
TOUCHES_NOT = 0.03
"""What a meter shows with a lead in the air [V]; common practice, no source."""
LEAD_OHMS, LEAD_SPREAD = 0.4, 0.7
"""Leads that nobody took off [ohm] and their spread [ln]: 0.2 to 0.5 ohm sound, above 1 ohm worn out,
in a published meter guide."""
SMALL = 20.0
"""Resistance up to which the leads matter [ohm]; common practice, no source."""
GROUND_SHIFT, SHIFT_SPREAD = 0.05, 1.2
"""Volts that loads put between two ground points of a worn machine [V] and their spread [ln]; common
practice, no source."""
GHOST_FROM = 5e4
"""Resistance behind a point from which volts may be a ghost [ohm]; common practice, no source."""
GHOST_LEAST = 0.05
POSITIVE = 0.9
"""Least volts that are taken for a ghost [V], and the share of ghosts that are positive; common practice,
no source."""
DECIMALS = (3, -3, 1, -1)
"""Powers of ten by which a range or a prefix is misread: kilo, milli, and the decimal point."""
CLEAR = 3.0
"""Spreads that a predicted number must have to its sign, to be read with the leads turned [1]."""


@dataclass(frozen=True, slots=True)
class Variant:
    """One way to slip, and the number that it predicts.

    Parameters
    ----------
    log_density
        Natural logarithm of the density of the number that was read, in the scale of the comparison.
    value
        What the meter would show [V, A or ohm].
    where
        The other cavity, position, plug or point; empty where there is none.
    detail
        The number that goes with it: ohms of the leads, volts or amps; NaN for none.
    """

    log_density: float
    value: float
    where: str = ""
    detail: float = float("nan")


Variants = Callable[[SlipCase], Iterator[Variant]]


@dataclass(frozen=True, slots=True)
class SlipKind:
    """A kind of slip: its name, how often it is met, and its variants.

    Parameters
    ----------
    rate
        How often a slip is of this kind where it is possible at all; only ratios matter.
    """

    name: str
    rate: float
    variants: Variants


def moved(case: SlipCase, reading: Reading, where: str) -> Variant:
    """The same number taken in another way."""
    mean, sd, _ = case.predicted(reading)
    value = exp(mean) if reading.kind == "ohms" else mean
    return Variant(log_density(case.measured, mean, sd), value, where)


def other_cavity(case: SlipCase) -> Iterator[Variant]:
    """A lead in a neighbouring cavity of the same plug, or on the other side of the same part."""
    reading = case.reading
    taken = {reading.red, reading.black}
    for name, other in case.neighbours(reading.red):
        if other not in taken:
            yield moved(case, replace(reading, red=other), f"red on {name}")
    for name, other in case.neighbours(reading.black):
        if other not in taken:
            yield moved(case, replace(reading, black=other), f"black on {name}")


def other_state(case: SlipCase) -> Iterator[Variant]:
    """One control in another position than was said."""
    reading = case.reading
    for control in case.engine.sheet.controls.values():
        for position in control.positions:
            if position != reading.setup.position(control.name):
                setup = reading.setup.moved(control.name, position)
                yield moved(case, replace(reading, setup=setup), f"{control.name} {position}")


def other_plugs(case: SlipCase) -> Iterator[Variant]:
    """One plug off that was said to be on, or on that was said to be off."""
    reading = case.reading
    for name in case.engine.sheet.connectors:
        off = name not in reading.setup.unplugged
        setup = replace(reading.setup, unplugged=reading.setup.unplugged ^ {name})
        yield moved(case, replace(reading, setup=setup), f"{name} {'unplugged' if off else 'plugged'}")


def other_black(case: SlipCase) -> Iterator[Variant]:
    """Black on another ground point, or not touching."""
    reading = case.reading
    if reading.kind != "volts":
        return
    sheet = case.engine.sheet
    for point in reachable_points(sheet, reading.setup.unplugged):
        owner = sheet.parts.get(point.terminal.rpartition(".")[0])
        ground = point.name in POINTS_OF_BLACK or (owner is not None and owner.kind == "ring")
        if ground and point.terminal not in {reading.black, reading.red}:
            yield moved(case, replace(reading, black=point.terminal), f"black on {point.name}")
    sd = (TOUCHES_NOT**2 + case.own_variance) ** 0.5
    yield Variant(log_density(case.measured, 0.0, sd), 0.0, "black not touching")


def ghost(case: SlipCase) -> Iterator[Variant]:
    """Volts that reach an open wire through a leak: a meter of 10 megohm draws too little to tell."""
    if case.reading.kind != "volts" or case.ohms < GHOST_FROM:
        return
    top = 1.2 * case.engine.sheet.system_volts
    size = abs(case.measured)
    if GHOST_LEAST < size < top:
        side = POSITIVE if case.measured > 0 else 1 - POSITIVE
        density = log(side) - log(size * log(top / GHOST_LEAST))
        yield Variant(density, case.measured, "", case.leak())


def leads_in(case: SlipCase) -> Iterator[Variant]:
    """The resistance of the leads, read along with a small one."""
    reading = case.reading
    if reading.kind != "ohms" or reading.leads is not None or case.ohms > SMALL:
        return
    left = reading.value - case.ohms
    if left > 0:
        density = log_density(log(left), log(LEAD_OHMS), LEAD_SPREAD) + log(reading.value / left)
        yield Variant(density, case.ohms + LEAD_OHMS, "", left)


def live_circuit(case: SlipCase) -> Iterator[Variant]:
    """Ohms where a potential stands between the leads: the meter shows ``R + V / I``."""
    reading = case.reading
    if reading.kind != "ohms":
        return
    shift = reading.value - case.ohms
    known = case.volts_between()
    if not known and not case.powered():
        return
    # Where nobody measured the volts they may have either sign and any size that a ground shift has.
    volts = known or GROUND_SHIFT
    spread = TEST_SPREAD if known else (TEST_SPREAD**2 + SHIFT_SPREAD**2) ** 0.5
    size = max(abs(shift), 1e-3)
    density = log_density(log(size), log(abs(volts) / TEST_AMPS), spread)
    density += log(reading.value / size) - log(2)
    if not known:
        # What it would show is open; what volts would explain the number is not.
        yield Variant(density, float("nan"), "", size * TEST_AMPS)
        return
    shown = abs(case.ohms + (1.0 if shift > 0 else -1.0) * abs(volts) / TEST_AMPS)
    yield Variant(density, shown, "", known)


def wrong_decimal(case: SlipCase) -> Iterator[Variant]:
    """A prefix or a decimal point misread: millivolts for volts, kilo-ohms for ohms."""
    mean, sd = case.mean, case.sd
    for power in DECIMALS:
        factor = 10.0**power
        if case.reading.kind == "ohms":
            density = log_density(case.measured, mean + log(factor), sd)
            yield Variant(density, exp(mean) * factor, f"x{factor:g}")
        elif abs(mean) > CLEAR * sd:
            wide = ((sd * factor) ** 2 + case.own_variance) ** 0.5
            yield Variant(log_density(case.measured, mean * factor, wide), mean * factor, f"x{factor:g}")


def turned(case: SlipCase) -> Iterator[Variant]:
    """The leads turned round, or a minus sign overlooked."""
    if case.reading.kind != "ohms" and abs(case.mean) > CLEAR * case.sd:
        yield Variant(log_density(case.measured, -case.mean, case.sd), -case.mean)


def average(case: SlipCase) -> Iterator[Variant]:
    """The average of a pulsed output, read as a steady number."""
    mean = case.mean
    if case.reading.kind == "ohms" or abs(mean) <= CLEAR * case.sd or not case.on_output():
        return
    share = case.measured / mean
    if 0 < share < 1:
        yield Variant(-log(abs(mean)), case.measured, "", share)


def anything(case: SlipCase) -> Iterator[Variant]:
    """None of the others: misheard, miswritten, a lead that slipped off."""
    yield Variant(case.flat, float("nan"))


SLIP_KINDS: tuple[SlipKind, ...] = (
    SlipKind("cavity", 0.22, other_cavity),
    SlipKind("state", 0.20, other_state),
    SlipKind("live", 0.40, live_circuit),
    SlipKind("leads", 0.30, leads_in),
    SlipKind("black", 0.15, other_black),
    SlipKind("plugs", 0.12, other_plugs),
    SlipKind("ghost", 0.50, ghost),
    SlipKind("sign", 0.08, turned),
    SlipKind("decimal", 0.08, wrong_decimal),
    SlipKind("average", 0.04, average),
    SlipKind("other", 0.10, anything),
)
"""Rates: common practice, no source."""


def likelihood(kind: SlipKind, case: SlipCase) -> list[tuple[Variant, float]]:
    """Variants of a kind with their weights, before they are shared out among all kinds."""
    found = [v for v in kind.variants(case) if v.log_density > -inf]
    return [(v, log(kind.rate / len(found)) + v.log_density) for v in found]

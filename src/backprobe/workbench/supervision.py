"""Supervised two-wire inputs: which resistors beside a contact keep its states apart from wire faults.

A two-wire input feeds the sensor or switch through its own resistance and reads the current.
A plain contact draws nothing or all, as a broken or shorted wire does. One resistor across the
contact and one in series with both keep the current of each state inside its own band, so that
a fault of the wiring is noticed. The figures of `Loop` are those published for IEC 60947-5-6.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isfinite
from typing import Literal

from backprobe.errors import Problem, UnitError
from backprobe.workbench.preferred import series

Region = Literal["break", "off", "dead band", "on", "short"]
Verdict = Literal["fits", "marginal", "fails"]

MARGINAL = 0.05
"""A current nearer to a limit than this share of it is marginal [1]: limits of inputs are met to 5 % or
so; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Loop:
    """A two-wire input: its source and the currents at which it changes its mind.

    Parameters
    ----------
    volts, ohms
        Open-circuit volts [V] and resistance [ohm] of the input.
    broken_below, off_up_to, on_from, short_above
        Limits of the regions, ascending [A].
    """

    volts: float = 8.2
    ohms: float = 1000.0
    broken_below: float = 0.35e-3
    off_up_to: float = 1.2e-3
    on_from: float = 2.1e-3
    short_above: float = 6e-3

    def amps(self, external: float) -> float:
        """Current into an external resistance [A]; infinite ohms for an open line."""
        return self.volts / (self.ohms + external)

    def volts_at(self, amps: float) -> float:
        """Volts at the terminals while a current flows [V]."""
        return self.volts - self.ohms * amps

    def external(self, amps: float) -> float:
        """The external resistance that draws a current [ohm]; infinite for none."""
        return self.volts_at(amps) / amps if amps else inf

    def region(self, amps: float) -> Region:
        """What the input takes a current for."""
        if amps < self.broken_below:
            return "break"
        if amps <= self.off_up_to:
            return "off"
        if amps < self.on_from:
            return "dead band"
        return "on" if amps <= self.short_above else "short"


@dataclass(frozen=True, slots=True)
class Margin:
    """How far a state stays from one limit.

    Parameters
    ----------
    state
        ``contact open`` or ``contact closed``.
    limit
        The limit [A].
    what
        The region beyond it.
    amps
        Current of the state at the corner nearest to the limit [A].
    room
        Distance to the limit as a share of it [1]; below 0 on the wrong side.
    """

    state: str
    limit: float
    what: Region
    amps: float
    room: float


@dataclass(frozen=True, slots=True)
class Supervision:
    """A pair of resistors judged.

    Parameters
    ----------
    series_ohms, parallel_ohms
        In series with the contact, and across it [ohm].
    open_amps, closed_amps
        Loop currents as marked [A].
    margins
        Every limit that a state might cross, nearest first.
    verdict
        ``fits``, ``marginal`` (a limit nearer than 5 %) or ``fails``.
    """

    series_ohms: float
    parallel_ohms: float
    open_amps: float
    closed_amps: float
    margins: tuple[Margin, ...]
    verdict: Verdict

    @property
    def least_room(self) -> float:
        """Room at the nearest limit [1]."""
        return self.margins[0].room


def supervise(
    series_ohms: float,
    parallel_ohms: float,
    loop: Loop | None = None,
    *,
    tolerance: float = 0.01,
    line_ohms: float = 0.0,
) -> Supervision:
    """Judge the two resistors of a supervised contact.

    Parameters
    ----------
    series_ohms, parallel_ohms
        In series with the contact, and across it [ohm].
    loop
        The input; that of IEC 60947-5-6 when None.
    tolerance
        Bound of each resistor, as a share of it [1].
    line_ohms
        Resistance of the line, out and back [ohm].

    Raises
    ------
    UnitError
        For a resistance that is not above zero, or a tolerance that is no share.
    """
    loop = loop or Loop()
    for name, ohms in (("series", series_ohms), ("parallel", parallel_ohms)):
        if not (isfinite(ohms) and ohms > 0):
            raise UnitError(
                Problem(f"{name} ohms", f"{ohms:g}", "is not a resistance above zero", "Write such as 1000.")
            )
    if not 0 <= tolerance < 1 or not 0 <= line_ohms < inf:
        raise UnitError(
            Problem(
                "tolerance, line",
                f"{tolerance:g}, {line_ohms:g}",
                "are no share from 0 to 1 and ohms from 0 up",
                "Write 0.01 for 1 % parts, and the ohms of the line out and back.",
            )
        )

    def amps(contact: float, factor: float) -> float:
        return loop.amps((series_ohms + contact) * factor + line_ohms)

    large, small = 1 + tolerance, 1 - tolerance
    margins = sorted(
        (
            # Large resistors draw the least current, small ones the most.
            _above("contact open", loop.broken_below, "break", amps(parallel_ohms, large)),
            _below("contact open", loop.off_up_to, "dead band", amps(parallel_ohms, small)),
            _above("contact closed", loop.on_from, "dead band", amps(0.0, large)),
            _below("contact closed", loop.short_above, "short", amps(0.0, small)),
        ),
        key=lambda m: m.room,
    )
    room = margins[0].room
    verdict: Verdict = "fits" if room >= MARGINAL else "marginal" if room >= -MARGINAL else "fails"
    return Supervision(
        series_ohms, parallel_ohms, amps(parallel_ohms, 1.0), amps(0.0, 1.0), tuple(margins), verdict
    )


def supervising_pairs(
    loop: Loop | None = None, *, number: int = 12, tolerance: float = 0.01, line_ohms: float = 0.0
) -> tuple[Supervision, ...]:
    """Every pair of preferred values that fits, the one with the most room first.

    Parameters
    ----------
    number
        The series: 12 for E12.
    """
    loop = loop or Loop()
    values = [float(f"{m}e{d}") for d in _exponents(number) for m in series(number)]
    # Below the heaviest and above the lightest current that counts no pair can fit.
    least, most = loop.external(loop.short_above), loop.external(loop.broken_below)
    useful = [v for v in values if 0.5 * least <= v <= most]
    found = [supervise(s, p, loop, tolerance=tolerance, line_ohms=line_ohms) for s in useful for p in useful]
    return tuple(sorted((f for f in found if f.verdict == "fits"), key=_by_room))


def _exponents(number: int) -> Sequence[int]:
    digits = len(str(series(number)[0])) - 1
    return range(1 - digits, 6 - digits)


def _by_room(found: Supervision) -> tuple[float, float, float]:
    return -found.least_room, found.series_ohms, found.parallel_ohms


def _above(state: str, limit: float, what: Region, amps: float) -> Margin:
    return Margin(state, limit, what, amps, amps / limit - 1)


def _below(state: str, limit: float, what: Region, amps: float) -> Margin:
    return Margin(state, limit, what, amps, 1 - amps / limit)

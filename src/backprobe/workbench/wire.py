"""Volts that a wire or a joint takes, the power it burns, and the size that would do."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, isfinite

from backprobe.errors import Problem, UnitError
from backprobe.sheet.copper import REFERENCE, copper_ratio, find_convention
from backprobe.workbench.wire_tables import (
    RATINGS,
    TABLES,
    circular_mils,
    gauge_area,
    gauge_of,
    ohms_per_km,
)

LIMITS = (
    ("ground path", 0.1),
    ("power wire", 0.2),
    ("switch", 0.3),
    ("starter cables together", 0.5),
)
"""Most volts lost under load [V] [seen]; trade practice, no standard found."""
CREDITED = (
    ("small connections", 0.0),
    ("high-current connections", 0.1),
    ("high-current cables", 0.2),
    ("switch or solenoid contacts", 0.3),
)
"""The same by a list credited to SAE in a printed repair manual [V] [seen]; the first document not found."""
FAULT = 1.0
"""More lost than this is a fault wherever it is [V]; the same list [seen]."""
CIRCUIT = 0.5
"""Most for a whole circuit [V] [seen]."""
NEW_JOINT, CORRODED_JOINT = (0.002, 0.005), (0.05, 0.2)
"""A new connector and a corroded one [ohm] [seen]."""
CRITICAL, ORDINARY = 0.03, 0.10
"""Share of the system's volts for what must work and for the rest; marine E-11 practice [seen]."""
ONE_WAY, OUT_AND_BACK = "all the copper in the path", "distance, counted out and back"


@dataclass(frozen=True, slots=True)
class WireDrop:
    """What a wire takes.

    Parameters
    ----------
    length, rule
        Copper that the current passes [m], and how it was counted.
    size
        Cross-section [mm2].
    ohms, drop, watts, share
        Of all of it [ohm, V, W], and the drop as a share of the system's volts.
    table, celsius, convention
        Where the ohms come from, at what temperature, and how they were moved there.
    least_critical, least_ordinary
        Smallest listed sizes for 3 % and 10 % [mm2]; None above the largest.
    """

    length: float
    rule: str
    size: float
    amps: float
    system: float
    ohms: float
    drop: float
    watts: float
    share: float
    table: str
    celsius: float
    convention: str
    least_critical: float | None
    least_ordinary: float | None

    @property
    def gauge(self) -> float:
        """The size as an AWG number, not rounded."""
        return gauge_of(self.size)

    @property
    def largest_fuse(self) -> float:
        """Largest fuse this size should stand behind [A]; common practice, no source."""
        return max((a for s, a in RATINGS.items() if s <= self.size * 1.05), default=7.5)


@dataclass(frozen=True, slots=True)
class WireSpec:
    """How a wire is reckoned: table, temperature, convention and length rule."""

    table: str = "class 5"
    celsius: float = REFERENCE
    convention: str = "alpha"
    out_and_back: bool = False

    def factor(self) -> float:
        """From its length as given, at 20 C, to all of it at its temperature [1]."""
        return (2 if self.out_and_back else 1) * copper_ratio(REFERENCE, self.celsius, self.convention)


def wire_ohms(length: float, size: float, spec: WireSpec | None = None) -> float:
    """Resistance of a wire [ohm].

    Parameters
    ----------
    length
        Length [m], counted by the rule of `spec`.
    size
        Cross-section [mm2].
    """
    spec = spec or WireSpec()
    _positive("length", length, "m", 1000)
    _positive("size", size, "mm2", 300)
    return ohms_per_km(size, _table(spec.table))[0] * length / 1000 * spec.factor()


def wire_drop(
    length: float, size: float, amps: float, *, system: float = 12.0, spec: WireSpec | None = None
) -> WireDrop:
    """Volts a wire takes at a current, against what the trade allows.

    Parameters
    ----------
    length
        Length [m]; all the copper in the path, or the distance where ``spec.out_and_back``.
    size
        Cross-section [mm2].
    amps
        Current [A].
    system
        Volts that the shares are of [V].

    Raises
    ------
    UnitError
        For values that no low-voltage machine has.
    """
    spec = spec or WireSpec()
    ohms = wire_ohms(length, size, spec)
    _positive("amps", amps, "A", 2000)
    _positive("system", system, "V", 60)
    sizes = [least_size(length, amps, share * system, spec) for share in (CRITICAL, ORDINARY)]
    return WireDrop(
        length * (2 if spec.out_and_back else 1),
        OUT_AND_BACK if spec.out_and_back else ONE_WAY,
        size,
        amps,
        system,
        ohms,
        ohms * amps,
        ohms * amps**2,
        ohms * amps / system,
        ohms_per_km(size, spec.table)[1],
        spec.celsius,
        find_convention(spec.convention).name,
        *sizes,
    )


def least_size(length: float, amps: float, volts: float, spec: WireSpec | None = None) -> float | None:
    """Smallest size of class 5 wire that loses no more than these volts [mm2]; None above the largest."""
    spec = spec or WireSpec()
    _positive("length", length, "m", 1000)
    _positive("amps", amps, "A", 2000)
    sizes = TABLES["class 5"][1]
    most = volts / amps / (length / 1000 * spec.factor())
    return next((size for size, ohms in sizes.items() if ohms <= most * (1 + 1e-9)), None)


def least_circular_mils(feet: float, amps: float, volts: float) -> float:
    """Cross-section by the rule of the boat trade: 10.75 I L / V [cmil].

    Parameters
    ----------
    feet
        All the copper in the path, out and back [ft].
    volts
        What may be lost [V].
    """
    return 10.75 * amps * feet / volts


def least_gauge(circular: float) -> int:
    """The thinnest even AWG size with at least this cross-section [cmil to AWG number]."""
    gauge = floor(gauge_of(circular * 0.0254**2 * 0.7853981633974483) / 2) * 2
    while circular_mils(gauge_area(gauge)) < circular:
        gauge -= 2
    return gauge


@dataclass(frozen=True, slots=True)
class Joint:
    """A joint, contact or wire by the volts it takes: ohms and watts [V, A, ohm, W]."""

    volts: float
    amps: float
    ohms: float
    watts: float

    @property
    def state(self) -> str:
        """What its ohms say of a single joint."""
        if self.ohms <= NEW_JOINT[1]:
            return "as a new joint"
        if self.ohms < CORRODED_JOINT[0]:
            return "more than a new joint, less than a corroded one"
        return "as a corroded joint" if self.ohms <= CORRODED_JOINT[1] else "worse than a corroded joint"

    @property
    def over(self) -> tuple[str, ...]:
        """What it would be too bad for, of `LIMITS`."""
        return tuple(name for name, limit in LIMITS if self.volts > limit)


def joint(volts: float, amps: float) -> Joint:
    """What the drop over a joint says: R = V / I, and the heat in it V I.

    Raises
    ------
    UnitError
        For no current, or volts that no low-voltage machine has.
    """
    _positive("amps", amps, "A", 2000)
    if not 0 <= volts <= 60:
        raise UnitError(Problem("volts", f"{volts:g} V", "is no drop on a machine", "Give 0 V to 60 V."))
    return Joint(volts, amps, volts / amps, volts * amps)


def _table(word: str) -> str:
    if word not in {*TABLES, "solid"}:
        raise UnitError(
            Problem("table", word, "is not a table of wires", f"Use {', '.join([*TABLES, 'solid'])}.")
        )
    return word


def _positive(field: str, value: float, unit: str, most: float) -> None:
    if not (isfinite(value) and 0 < value <= most):
        raise UnitError(
            Problem(field, f"{value:g} {unit}", "is out of range", f"Give more than 0 up to {most:g} {unit}.")
        )

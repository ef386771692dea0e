"""A reading: what was seen, where red and black were, what was plugged, in which operator state."""

from __future__ import annotations

from dataclasses import dataclass
from math import isinf, log10

from backprobe.circuit.setup import Setup
from backprobe.units import format_quantity

NUMERIC = frozenset({"volts", "ohms", "amps"})
GAIN = {"volts": 0.01, "ohms": 0.01, "amps": 0.015}
"""Meter's share of the reading, as a bound [1]; a handheld within +-1 % (field cases, common practice)."""

KINDS = (
    "volts",
    "ohms",
    "amps",
    "works",
    "lamp",
    "tester",
    "code",
    "click",
    "swapped",
    "looked",
    "fuse",
    "beeper",
    "leads",
)
STATELESS = frozenset({"swapped", "looked", "leads"})
"""Kinds to which operator state and plugs do not matter."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading.

    Parameters
    ----------
    kind
        One of `KINDS`.
    setup
        Operator state, what is unplugged, what is attached.
    red, black
        Terminals under the two leads, for numbers.
    red_name, black_name
        The same in the mechanic's words.
    value
        The number [V, ohm or A]; infinite for over-range; NaN for unsteady.
    half_width, digit
        Width of the number as written, and one unit of its last digit [same unit].
    subject
        Function, part, lamp or input that the reading is about, for what is not a number.
    seen
        What was seen of it: ``dead``, ``works``, ``lit``, a band's meaning, ``no change`` ...
    text
        The line as typed.
    leads
        Resistance of the meter's leads that was taken off `value` [ohm], 0 where the mechanic had
        done so; None while nobody held them together.
    low, high
        Ends between which a number moved while it was read [same unit]; both 0 for a steady one.
    """

    kind: str
    setup: Setup
    red: str = ""
    black: str = ""
    red_name: str = ""
    black_name: str = ""
    value: float = 0.0
    half_width: float = 0.0
    digit: float = 0.0
    subject: str = ""
    seen: str = ""
    text: str = ""
    leads: float | None = None
    low: float = 0.0
    high: float = 0.0

    @property
    def numeric(self) -> bool:
        """Whether it is a number that a circuit predicts."""
        return self.kind in NUMERIC and self.value == self.value

    @property
    def over_range(self) -> bool:
        """Whether the meter showed over-range."""
        return self.value == float("inf")

    @property
    def unsteady(self) -> bool:
        """Whether the number would not stand still."""
        return self.kind in NUMERIC and self.value != self.value

    @property
    def placed(self) -> bool:
        """Whether operator state and plugs matter to it."""
        as_it_lies = self.kind == "fuse" and self.seen in {"good", "blown"}
        return self.kind not in STATELESS and not as_it_lies

    @property
    def moving(self) -> bool:
        """Whether the number moved between two ends."""
        return self.high > self.low

    @property
    def own_spread(self) -> float:
        """Standard deviation from written digits and one digit of the meter [same unit].

        Both are bounds without a stated distribution, hence rectangular (JCGM 100:2008, 4.3.7).
        """
        result: float = ((self.half_width**2 + self.digit**2) / 3) ** 0.5
        return result

    def words(self) -> str:
        """The reading in words, without its setup."""
        unit = {"volts": "V", "ohms": "ohm", "amps": "A"}.get(self.kind)
        if unit:
            shown = "unsteady" if self.unsteady else _as_written(self.value, self.digit, unit)
            if self.moving:
                shown += f", moving {format_quantity(self.low, unit)} to {format_quantity(self.high, unit)}"
            return f"{self.red_name} to {self.black_name}: {shown}"
        if self.kind == "leads":
            return f"leads together: {self.value:g} ohm"
        return f"{self.subject} {self.seen}"


def _as_written(value: float, digit: float, unit: str) -> str:
    if isinf(value) or value == 0 or digit <= 0:
        return format_quantity(value, unit)
    digits = max(1, round(log10(abs(value)) - log10(digit) + 0.5))
    return format_quantity(value, unit, digits=min(digits, 6))

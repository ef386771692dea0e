"""Readings of copper brought to one temperature, and sheets at another one."""

from __future__ import annotations

from dataclasses import dataclass, replace

from backprobe.errors import Problem, SheetError, UnitError
from backprobe.sheet.anatomy import Value
from backprobe.sheet.copper import REFERENCE, copper_ratio, find_convention
from backprobe.sheet.model import Sheet
from backprobe.sheet.reader import parse_sheet
from backprobe.sheet.warmth import parse_temperature


@dataclass(frozen=True, slots=True)
class CopperReading:
    """A coil or wire read at one temperature and brought to another.

    Parameters
    ----------
    read, leads, own
        What the meter showed, what the leads showed together, and the difference [ohm].
    celsius, reference
        Temperature of the part, and the one it is brought to [degC].
    ohms
        What it would be at the reference [ohm].
    convention
        Name of the convention that was used.
    window
        Limits at the reference [ohm], where given; `window_here` is the same at the part's temperature.
    """

    read: float
    leads: float
    own: float
    celsius: float
    reference: float
    ohms: float
    convention: str
    window: tuple[float, float] | None = None
    window_here: tuple[float, float] | None = None

    @property
    def good(self) -> bool | None:
        """Whether it lies within the window; None where none was given."""
        return None if self.window is None else self.window[0] <= self.ohms <= self.window[1]


def move_window(
    low: float, high: float, celsius_from: float, celsius_to: float, convention: str = "alpha"
) -> tuple[float, float]:
    """Limits of a coil at another temperature [ohm]."""
    if not 0 < low <= high:
        raise UnitError(
            Problem(
                "window",
                f"{low:g}..{high:g} ohm",
                "does not run from low to high above zero",
                "Write the smaller value first, such as 20..24 ohm.",
            )
        )
    ratio = copper_ratio(celsius_from, celsius_to, convention)
    return ratio * low, ratio * high


def copper_reading(
    ohms: float,
    celsius: float,
    reference: float = REFERENCE,
    *,
    leads: float = 0.0,
    window: tuple[float, float] | None = None,
    convention: str = "alpha",
) -> CopperReading:
    """Bring a reading of copper to a reference temperature, the leads taken off first.

    Parameters
    ----------
    ohms
        What the meter showed [ohm].
    celsius
        How warm the part was [degC].
    reference
        Temperature to bring it to [degC].
    leads
        What the meter shows with its leads together [ohm].
    window
        Limits that hold at the reference [ohm].
    convention
        ``alpha``, ``table`` or ``textbook``.

    Raises
    ------
    UnitError
        For a temperature out of range, leads above the reading or a window the wrong way round.
    """
    own = ohms - leads
    if leads < 0 or own <= 0:
        raise UnitError(
            Problem(
                "leads",
                f"{leads:g} ohm",
                f"leaves nothing of a reading of {ohms:g} ohm",
                "Hold the leads together and give what the meter shows then.",
            )
        )
    here = None if window is None else move_window(*window, reference, celsius, convention)
    brought = own * copper_ratio(celsius, reference, convention)
    name = find_convention(convention).name
    return CopperReading(ohms, leads, own, celsius, reference, brought, name, window, here)


def at_temperature(sheet: Sheet, temperature: str | Value) -> Sheet:
    """The same sheet at another temperature: its coils, relay coils and wires moved.

    Parameters
    ----------
    temperature
        Such as ``-30 C`` or ``-20..-5 C``; a part that says its own keeps it.

    Raises
    ------
    UnitError
        When it is no temperature.
    SheetError
        When the sheet was not read from a text.
    """
    value = parse_temperature(temperature) if isinstance(temperature, str) else temperature
    if not sheet.text:
        raise SheetError(Problem("sheet", sheet.name, "has no text to read again", "Load it from its file."))
    return replace(parse_sheet(sheet.text, file=sheet.file, temperature=value), name=sheet.name)

"""The sheet: what one build of one circuit is, as frozen values.

Nothing here behaves; `backprobe.circuit` gives it currents and `backprobe.sheet.reader`
fills it from a file. Every element remembers the line it was written on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from backprobe.sheet.anatomy import Band, Value


@dataclass(frozen=True, slots=True)
class State:
    """One operator control in one position, such as ``gate shut``."""

    control: str
    position: str

    def __str__(self) -> str:
        return f"{self.control} {self.position}"


@dataclass(frozen=True, slots=True)
class Control:
    """An operator control; its first position is the one at rest.

    With `remembered` nobody's hand stands there: its position tells what was done just before (`Latch`).
    """

    name: str
    positions: tuple[str, ...]
    line: int = 0
    remembered: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """A part with the fields its kind declares.

    Parameters
    ----------
    values
        Field name to number with tolerance and origin, defaults filled in.
    closed
        For switches: the operator states in which the contact is closed, control by control.
    levels
        For sensors and potentiometers: operator state to level.
    texts
        Plain text fields (colour, side, family).
    pins
        For controllers: terminal name to its own values, bands and texts.
    minutes
        Time to reach it [min].
    temperature
        Its own temperature [degC] where it differs from the circuit's.
    """

    name: str
    kind: str
    values: Mapping[str, Value] = field(default_factory=dict)
    closed: Mapping[str, frozenset[str]] = field(default_factory=dict)
    levels: Mapping[State, Value] = field(default_factory=dict)
    texts: Mapping[str, str] = field(default_factory=dict)
    pins: Mapping[str, Pin] = field(default_factory=dict)
    minutes: float | None = None
    caution: str = ""
    line: int = 0
    implied: bool = False
    temperature: Value | None = None


@dataclass(frozen=True, slots=True)
class Pin:
    """One terminal of a controller: a feed, an input, an output, a supply or a ground."""

    name: str
    role: str
    values: Mapping[str, Value] = field(default_factory=dict)
    bands: tuple[Band, ...] = ()
    texts: Mapping[str, str] = field(default_factory=dict)
    line: int = 0


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that a run passes: entered at terminal `enter`, left at `leave`.

    A point (a post, the frame, a part's terminal) is entered and left at the same terminal.
    `role` is ``point``, ``cavity`` or ``part``.
    """

    text: str
    part: str
    enter: str
    leave: str
    role: str


@dataclass(frozen=True, slots=True)
class Run:
    """What the current meets, in order, from source to return (or from branch to branch)."""

    name: str
    items: tuple[Item, ...]
    line: int = 0


@dataclass(frozen=True, slots=True)
class Connector:
    """A plug: its cavities, and the part it plugs into."""

    name: str
    cavities: tuple[str, ...]
    part: str
    minutes: float = 1.0
    caution: str = ""
    line: int = 0


@dataclass(frozen=True, slots=True)
class Function:
    """What the machine does for its operator, what releases it and what guards it.

    Parameters
    ----------
    releases
        Logic expression over inputs and controls; empty for a load that is wired direct.
    drives
        Controller output pins.
    loads
        Parts that must see their working volts for the function to work.
    guard
        Logic expression over controls that keeps people safe; empty when there is none.
    """

    name: str
    loads: tuple[str, ...]
    releases: str = ""
    drives: tuple[str, ...] = ()
    guard: str = ""
    line: int = 0
    implied: bool = False


@dataclass(frozen=True, slots=True)
class Latch:
    """What a machine remembers of what its operator did: set by a rule, held until another clears it.

    Parameters
    ----------
    sets, clears
        Logic expressions; both empty where a relay holds itself in, so that the circuit is the memory.
    by
        What the operator does to set it.
    """

    name: str
    sets: str = ""
    clears: str = ""
    by: tuple[State, ...] = ()
    line: int = 0


@dataclass(frozen=True, slots=True)
class Build:
    """One of the builds that a sheet leaves open.

    Parameters
    ----------
    choices
        What is open, such as ``feed volts``, and what it is in this build.
    share
        How likely it is beforehand [1].
    """

    choices: tuple[tuple[str, str], ...]
    share: float
    sheet: Sheet


@dataclass(frozen=True, slots=True)
class Sheet:
    """One build of one circuit."""

    name: str
    system_volts: float
    controls: Mapping[str, Control]
    parts: Mapping[str, Part]
    runs: Mapping[str, Run]
    connectors: Mapping[str, Connector]
    functions: Mapping[str, Function]
    lamps: Mapping[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)
    """Lamps the controller lights: pattern and the rule under which it shows."""
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    """What matters and is only assumed, each as a question a mechanic can answer."""
    file: str = ""
    text: str = ""
    latches: Mapping[str, Latch] = field(default_factory=dict)
    builds: tuple[Build, ...] = ()
    """All builds, likeliest first, where values may be one of a few; this sheet is the first of them."""
    temperature: Value | None = None
    """How warm the circuit is [degC]; None where the sheet does not say."""
    bodies: tuple[str, ...] = ()
    """Metal bodies beside the frame, each a point of its own."""

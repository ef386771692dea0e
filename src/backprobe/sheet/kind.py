"""What a kind of part declares about itself.

To add a kind, add one file to `backprobe.sheet.kinds` that defines ``KIND``; nothing else
changes. The fields declared here give the defaults, the messages and the JSON Schema.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from backprobe.sheet.anatomy import Origin, Value
from backprobe.sheet.build import PartBuilder

VALUE, CLOSED, LEVELS, TEXT = "value", "closed", "levels", "text"


@dataclass(frozen=True, slots=True)
class FieldSpec:
    """One field of a kind.

    Parameters
    ----------
    name
        As written in a sheet.
    unit
        Required unit of a value or of each level; empty for text.
    default
        ``(nominal, low, high)`` in SI units, or None when the field may be missing.
    why
        Why this default is honest; shown as the value's origin.
    shape
        ``value``, ``closed`` (positions per control), ``levels`` (state to value) or ``text``.
    choices
        Allowed words of a text field; empty for any.
    scales
        The default is for 12 V and grows with the system's volts (``"volts"``), or shrinks as
        power at constant watts would ask (``"ohms"``: by the square).
    matters
        A question to ask when the default is used, because the answer often decides.
    copper
        It is the resistance of copper, so it moves with the temperature.
    """

    name: str
    unit: str = ""
    default: tuple[float, float, float] | None = None
    why: str = ""
    shape: str = VALUE
    choices: tuple[str, ...] = ()
    scales: str = ""
    matters: str = ""
    copper: bool = False

    def default_value(self, system_volts: float) -> Value | None:
        """The default as a value, scaled to the system's volts [unit]."""
        if self.default is None:
            return None
        factor = {"": 1.0, "volts": system_volts / 12, "ohms": (system_volts / 12) ** 2}[self.scales]
        nominal, low, high = (factor * x for x in self.default)
        return Value(nominal, low, high, self.unit, Origin("default", self.why))


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of part: its terminals, its fields, how a run passes it and what it is made of.

    Parameters
    ----------
    passes
        How a run goes through it: word (empty for the plain way) to (enter, leave) terminals.
    words
        What it is called in a run, longest first.
    joins
        True for what is itself a conductor or a joint, so that no wire is implied beside it.
    refine
        Fills values that follow from others (a fuse's resistance from its rating).
    """

    name: str
    terminals: tuple[str, ...]
    passes: Mapping[str, tuple[str, str]]
    build: Callable[[PartBuilder], None]
    fields: tuple[FieldSpec, ...] = ()
    words: tuple[str, ...] = ()
    joins: bool = False
    load: bool = False
    """Whether the part is what a function ends in."""
    operated: bool = False
    """Whether an operator control moves it; without a word about it, the one its name suggests."""
    face: str = "steel"
    """What a sensor of this kind answers to when it is held to its face, unless its part says."""
    sealed: tuple[str, ...] = ()
    """Terminals that no lead can reach."""
    minutes: float = 1.0
    refine: Callable[[dict[str, Value], float, set[str]], None] | None = None
    about: str = ""

    def field(self, name: str) -> FieldSpec | None:
        """The field of that name, if the kind has it."""
        return next((f for f in self.fields if f.name == name), None)

    def field_for_unit(self, unit: str) -> FieldSpec | None:
        """The first field that takes this unit, for values written inside a run."""
        return next((f for f in self.fields if f.unit == unit and f.shape == VALUE), None)


@dataclass(slots=True)
class Registry:
    """All kinds, by name and by the words used in a run."""

    by_name: dict[str, Kind] = field(default_factory=dict)
    by_word: dict[str, Kind] = field(default_factory=dict)

    def add(self, kind: Kind) -> None:
        """Add a kind under its name and words."""
        self.by_name[kind.name] = kind
        for word in (kind.name, *kind.words):
            self.by_word[word] = kind

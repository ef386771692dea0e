"""A setup: operator state, what is unplugged and what is attached."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from backprobe.sheet.kinds import registry
from backprobe.sheet.model import Sheet

VOLTMETER_OHMS = 10e6
"""Input resistance of a common digital voltmeter [ohm] (OpenStax University Physics 2, m58456)."""

JUMPER_OHMS = 0.02
AMMETER_OHMS = 0.1
SOURCE_OHMS = 0.05
"""Least resistance of a bench source with its leads [ohm]; common practice, no source."""
TEST_LAMP_WATTS = 5.0
"""A small test lamp; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Attachment:
    """Something held between two points, or held to a part.

    `kind` is ``jumper``, ``ammeter``, ``test lamp``, ``resistor``, ``source`` or ``target``;
    a target has only `red`, the sensor it is held to. A source drives `red` above `black`.
    """

    kind: str
    red: str
    black: str = ""
    ohms: float = JUMPER_OHMS
    volts: float = 0.0
    what: str = field(default="steel", compare=False)
    """Of a target: what is held, for the words only; it is the same setup."""


def tester_ohms(system_volts: float) -> float:
    """Resistance of a lit test lamp at the machine's volts [ohm]."""
    return system_volts**2 / TEST_LAMP_WATTS


def target_at(sheet: Sheet, part: str) -> Attachment:
    """What a sensor answers to, held to its face: steel, or a magnet."""
    sensor = sheet.parts[part]
    default = registry().by_name[sensor.kind].face
    what = {"magnet": "a magnet"}.get(sensor.texts.get("target", default), "steel")
    return Attachment("target", part, what=what)


def lamp_tester(red: str, black: str, system_volts: float) -> Attachment:
    """A test lamp held between two points."""
    return Attachment("test lamp", red, black, tester_ohms(system_volts))


@dataclass(frozen=True, slots=True)
class Setup:
    """Operator state, unplugged things and attachments; hashable, so circuits can be kept per setup."""

    state: tuple[tuple[str, str], ...]
    unplugged: frozenset[str] = field(default_factory=frozenset)
    attached: tuple[Attachment, ...] = ()

    def position(self, control: str) -> str:
        """The position of a control."""
        return dict(self.state)[control]

    def moved(self, control: str, position: str) -> Setup:
        """The same setup with one control in another position."""
        state = dict(self.state) | {control: position}
        return Setup(tuple(sorted(state.items())), self.unplugged, self.attached)

    def without(self, name: str) -> Setup:
        """The same setup with one more thing unplugged."""
        return Setup(self.state, self.unplugged | {name}, self.attached)

    def with_attached(self, attachment: Attachment) -> Setup:
        """The same setup with one more thing attached."""
        return Setup(self.state, self.unplugged, (*self.attached, attachment))

    def words(self) -> str:
        """The setup in words."""
        parts = [f"{c} {p}" for c, p in self.state]
        parts += [f"{u} unplugged" for u in sorted(self.unplugged)]
        for a in self.attached:
            parts.append(f"{a.what} at {a.red}" if a.kind == "target" else f"{a.kind} {a.red} to {a.black}")
        return ", ".join(parts) or "as it stands"


def make_setup(
    sheet: Sheet,
    state: Mapping[str, str] | None = None,
    unplugged: frozenset[str] = frozenset(),
    attached: tuple[Attachment, ...] = (),
) -> Setup:
    """A setup with every control of the sheet placed; controls not named stand at rest."""
    full = {c.name: c.positions[0] for c in sheet.controls.values()} | dict(state or {})
    return Setup(tuple(sorted(full.items())), unplugged, attached)

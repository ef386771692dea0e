"""The builder a kind uses to say what a part is made of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from backprobe.sheet.anatomy import (
    OPEN,
    Branch,
    Device,
    Gate,
    Input,
    Load,
    Mode,
    Origin,
    Parameter,
    Value,
)
from backprobe.sheet.model import Part

CELL_SPREAD = 0.55
"""Spread of ln(resistance) inside one severity cell when neighbours are a factor 3.2 apart [1]."""

RESISTIVE = (0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1e3, 1e4, 1e5)
"""Severities of a lossy joint [ohm]: half a decade apart, wider once nothing works any more."""

BROKEN = (1e5, 1e6, 1e7, OPEN)
"""What is left of a broken conductor [ohm]: damp and dirt bridge a break before it is a clean open."""

BROKEN_SPREAD = 1.0
"""Spread of ln(resistance) inside a cell of `BROKEN` [1]."""

LEAKY = (1.0, 10.0, 30.0, 100.0, 300.0, 1e3, 3e3, 1e4, 3e4, 1e5)
"""Severities of an unwanted path [ohm], from a dead short upwards."""


@dataclass(slots=True)
class Anatomy:
    """Everything a sheet's parts are made of, gathered part by part."""

    parameters: dict[str, Parameter] = field(default_factory=dict)
    branches: dict[str, Branch] = field(default_factory=dict)
    devices: dict[str, Device] = field(default_factory=dict)
    inputs: dict[str, Input] = field(default_factory=dict)
    loads: dict[str, Load] = field(default_factory=dict)
    modes: list[Mode] = field(default_factory=list)
    supply_node: str = "battery.+"
    met: frozenset[str] = frozenset()
    """Terminals that a run meets."""


class PartBuilder:
    """Adds one part's primitives to an `Anatomy`; the only thing a kind's ``build`` touches."""

    def __init__(self, part: Part, anatomy: Anatomy, system_volts: float) -> None:
        self.part = part
        self.system_volts = system_volts
        self._anatomy = anatomy

    def key(self, label: str) -> str:
        """The full key of something of this part."""
        return f"{self.part.name}.{label}"

    def node(self, terminal: str) -> str:
        """The node of a terminal (or of an inner point) of this part."""
        return f"{self.part.name}.{terminal}"

    def met(self, terminal: str) -> bool:
        """Whether a run meets a terminal: what nothing is wired to is not missed."""
        return self.node(terminal) in self._anatomy.met

    def value(self, name: str) -> Value:
        """The value of a field, default filled in."""
        return self.part.values[name]

    def has(self, name: str) -> bool:
        """Whether a field has a value."""
        return name in self.part.values

    def parameter(self, label: str, value: Value, *, logarithmic: bool | None = None) -> str:
        """Register an uncertain number and return its key."""
        key = self.key(label)
        log = value.unit == "ohm" if logarithmic is None else logarithmic
        self._anatomy.parameters[key] = Parameter(key, self.part.name, value, log)
        return key

    def fixed(self, label: str, number: float, unit: str = "ohm") -> str:
        """Register a number that has no tolerance of its own."""
        return self.parameter(label, Value(number, number, number, unit, Origin("default", "by design")))

    def resistance(self, label: str, a: str, b: str, ohms: Value, *gates: Gate, names: bool = True) -> str:
        """A resistance from terminal `a` to terminal `b`; returns its parameter's key."""
        key = self.parameter(f"{label} ohms", ohms)
        self._branch(Branch(self.key(label), self.part.name, self._end(a), self._end(b), key, gates=gates))
        return key

    def source(
        self, label: str, plus: str, minus: str, volts: str, ohms: Value, *gates: Gate
    ) -> tuple[str, str]:
        """A source that drives `plus` above `minus`; returns its branch key and resistance key."""
        key = self.parameter(f"{label} ohms", ohms)
        branch = self.key(label)
        # Current through the source runs from minus to plus inside, hence a = minus.
        self._branch(
            Branch(branch, self.part.name, self._end(minus), self._end(plus), key, volts, 1.0, gates)
        )
        return branch, key

    def junction(self, label: str, anode: str, cathode: str, volts: Value, ohms: Value, *gates: Gate) -> str:
        """A diode; returns its branch key."""
        drop = self.parameter(f"{label} volts", volts)
        slope = self.parameter(f"{label} ohms", ohms)
        branch = self.key(label)
        self._branch(
            Branch(
                branch,
                self.part.name,
                self._end(anode),
                self._end(cathode),
                slope,
                drop,
                -1.0,
                (*gates, self._mode_gate(label)),
            )
        )
        from backprobe.sheet.anatomy import Junction

        self.device(Junction(self.key(label), branch))
        return branch

    def _mode_gate(self, label: str) -> Gate:
        from backprobe.sheet.anatomy import InMode

        return InMode(self.key(label))

    def latent(self, label: str, a: str, b: str, *gates: Gate) -> str:
        """A path that is not there until a fault makes it; returns its parameter's key."""
        key = self.fixed(f"{label} ohms", OPEN)
        self._branch(Branch(self.key(label), self.part.name, self._end(a), self._end(b), key, gates=gates))
        return key

    def driven_current(self, label: str, a: str, b: str, amps: str, *gates: Gate) -> str:
        """A constant current pushed from `a` to `b` through the branch; returns its branch key."""
        key = self.fixed(f"{label} ohms", 1e6)
        branch = self.key(label)
        self._branch(Branch(branch, self.part.name, self._end(a), self._end(b), key, gates=gates, amps=amps))
        return branch

    def device(self, device: Device) -> str:
        """Register a device with a mode and return its key."""
        self._anatomy.devices[device.key] = device
        return device.key

    def input(self, entry: Input) -> None:
        """Register a controller input."""
        self._anatomy.inputs[entry.name] = entry

    def load(self, kind: str, label: str, volts: Value) -> None:
        """Register the part, through its branch `label`, as the load that a function ends in."""
        key = self.parameter("working volts", volts)
        self._anatomy.loads[self.part.name] = Load(self.part.name, self.key(label), key, kind)

    def fault(  # noqa: PLR0913 - a fault is one flat record
        self,
        mode: str,
        changes: Mapping[str, tuple[float, ...]],
        *,
        rate: float,
        why: str,
        repair: str,
        spread: float = 0.0,
        minutes: float = 10.0,
        cost: float = 0.0,
        family: str = "part",
    ) -> None:
        """Register one failure mode of this part."""
        self._anatomy.modes.append(
            Mode(self.part.name, mode, changes, rate, why, repair, spread, minutes, cost, family)
        )

    def shorts(self, terminal: str, *, rate: float, why: str, what: str = "", family: str = "copper") -> None:
        """A chafed conductor at `terminal`: to the frame, and to the supply."""
        words = f" {what}" if what else ""
        ground = self.latent(f"chafe to frame{words}", terminal, "frame")
        supply = self.latent(f"chafe to supply{words}", terminal, self._anatomy.supply_node)
        self.fault(
            f"shorted to frame{words}",
            {ground: (0.1, *LEAKY)},
            rate=rate * 0.75,
            why=why,
            spread=CELL_SPREAD,
            repair=f"find where {self.part.name} is rubbed through to metal, splice and protect it",
            minutes=40,
            cost=5,
            family=family,
        )
        self.fault(
            f"shorted to supply{words}",
            {supply: (0.1, *LEAKY)},
            rate=rate * 0.25,
            why=why,
            spread=CELL_SPREAD,
            repair=f"find where {self.part.name} touches a live wire, separate, splice and protect it",
            minutes=40,
            cost=5,
            family=family,
        )

    def _branch(self, branch: Branch) -> None:
        self._anatomy.branches[branch.key] = branch

    def _end(self, terminal: str) -> str:
        # A full node name (frame, another part's post) is passed through as it is.
        return terminal if terminal == "frame" or "." in terminal else self.node(terminal)

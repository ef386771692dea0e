"""What everything in a circuit bears: wires, pins, feeds, inputs, resistors, loads and leads."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice

import numpy as np

from backprobe.circuit.compiled import Circuit, Floats
from backprobe.circuit.full import solve_full
from backprobe.circuit.solve import Solution
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import operator_states
from backprobe.sheet.anatomy import OPEN, Input, Melter
from backprobe.sheet.model import Part
from backprobe.workbench.claim import RESISTOR_WATTS, Cure

WIRE_AMPS = (
    (0.22, 2.0),
    (0.35, 4.0),
    (0.5, 7.0),
    (0.75, 10.0),
    (1.0, 13.0),
    (1.5, 18.0),
    (2.5, 25.0),
    (4.0, 35.0),
    (6.0, 45.0),
    (10.0, 65.0),
    (16.0, 90.0),
    (25.0, 120.0),
    (35.0, 150.0),
    (50.0, 190.0),
)
"""Size of a copper wire [mm2] and what it carries for good in a loom [A]; common practice, no source."""
BEARS = {"contact": 10.0, "switch": 10.0, "changeover switch": 10.0, "splice": 15.0, "relay": 30.0}
"""Continuous current of pins and contacts [A]; common practice, no source."""
LEAD_AMPS = 10.0
"""A test lead [A]; common practice, no source."""
DRIVER_AMPS = 10.0
"""A driver output of which no limit is stated [A]; common practice, no source."""
BELOW_GROUND = -0.3
"""An input or feed further below ground than this is conducting where it should not [V]; from memory."""
OVER_VOLTED = 1.3
"""Share of the system's volts above which a load is over-volted [1]; common practice, no source."""
HEADROOM = 1.2
"""A sound machine's own current, and this much more, harms nothing [1]."""
FEED_HEADROOM = 0.5
"""Volts above a feed's own from which its regulator is fed backwards [V]; common practice, no source."""
MOST_STATES = 400
"""Operator states that are tried, those nearest to rest."""


@dataclass(frozen=True, slots=True)
class Limit:
    """One thing and what it bears.

    Parameters
    ----------
    name
        Such as ``wire 1.2 m 0.75 mm2 BK``, ``C2-3``, ``controller.feed``.
    what
        ``wire``, ``pin``, ``feed``, ``input``, ``driver``, ``resistor``, ``load``, ``sensor`` or ``lead``.
    high, unit
        The limit, in A, W or V.
    branch
        Column of its current; -1 where it is judged by its volts or its mode.
    low
        For volts, the other end [V].
    """

    name: str
    what: str
    high: float
    unit: str
    branch: int = -1
    low: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """Every limit's own quantity in a batch of circuits.

    Parameters
    ----------
    value, ratio
        ``(c, l)`` value [A, W or V], and over its limit [1]; above 1 it is damaged.
    """

    limits: tuple[Limit, ...]
    value: Floats
    ratio: Floats


def wire_amps(wire: Part) -> float:
    """What a wire carries for good, by its size [A]."""
    size = wire.values["size"].nominal if "size" in wire.values else 1.0
    sizes, amps = zip(*WIRE_AMPS, strict=True)
    return float(np.interp(size, sizes, amps))


class Limits:
    """The limits of one sheet, raised where its sound machine carries more in some operator state.

    Parameters
    ----------
    engine
        The engine of the sheet.
    """

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self.circuit: Circuit = engine.circuit
        self.states = tuple(islice(operator_states(engine.sheet), MOST_STATES))
        self._currents = [i for i, b in enumerate(self.circuit.branches) if self._carries(i, b.owner)]
        self.limits: tuple[Limit, ...] = (
            *(self._current_limit(i) for i in self._currents),
            *(self._load_limit(name) for name in self.circuit.loads),
        )
        pins = [(p, pin) for p in engine.sheet.parts.values() for pin in p.pins.values()]
        self._selectors: list[Floats] = [
            self._across(lim.branch) for lim in self.limits if lim.what == "load"
        ]
        for part, pin in pins:
            entry = self.circuit.inputs.get(f"{part.name}.{pin.name}")
            if pin.role == "input" and entry is not None and entry.bands:
                self._add_pin(entry, "input", max(b.high for b in entry.bands))
            elif pin.role == "feed":
                ground = f"{part.name}._ground"
                feed = Input(f"{part.name}.{pin.name}", f"{part.name}.{pin.name}", ground, (), "")
                self._add_pin(feed, "feed", pin.values["volts"].high + FEED_HEADROOM)
        self._overfed = [i for i, d in enumerate(self.circuit.devices) if d.key.endswith(".overfed")]
        self.limits = (*self.limits, *(self._sensor_limit(i) for i in self._overfed))
        self.fuses = [(i, d) for i, d in enumerate(self.circuit.devices) if isinstance(d, Melter)]
        self.sound_raised()

    def _carries(self, branch: int, owner: str) -> bool:
        part = self.engine.sheet.parts.get(owner)
        if part is None or self.circuit.nominal[self.circuit.ohms_of[branch]] > OPEN / 100:
            return False
        label = self.circuit.branches[branch].key.removeprefix(f"{owner}.")
        if part.kind == "controller":
            return label.endswith("driver") or label in {p for p in part.pins if part.pins[p].role == "feed"}
        return part.kind in {*BEARS, "wire", "resistor"} and "winding" not in label

    def _current_limit(self, branch: int) -> Limit:
        owner = self.circuit.branches[branch].owner
        part = self.engine.sheet.parts[owner]
        if part.kind == "wire":
            return Limit(owner, "wire", wire_amps(part), "A", branch)
        if part.kind == "resistor":
            return Limit(owner, "resistor", RESISTOR_WATTS, "W", branch)
        if part.kind == "controller":
            label = self.circuit.branches[branch].key.removeprefix(f"{owner}.")
            pin = part.pins[label.removesuffix(" driver")]
            known = pin.values.get("limit")
            # A driver or a feed that limits itself survives its limit.
            high = 2 * known.high if known else DRIVER_AMPS
            return Limit(
                f"{owner}.{pin.name}", "feed current" if pin.role == "feed" else "driver", high, "A", branch
            )
        return Limit(owner, "pin" if part.kind == "contact" else part.kind, BEARS[part.kind], "A", branch)

    def _load_limit(self, name: str) -> Limit:
        branch = self.circuit.branch_of[self.circuit.loads[name].branch]
        return Limit(name, "load", OVER_VOLTED * self.engine.sheet.system_volts, "V", branch)

    def _sensor_limit(self, device: int) -> Limit:
        return Limit(self.circuit.devices[device].key.removesuffix(".overfed"), "sensor", 1.0, "V")

    def _across(self, branch: int) -> Floats:
        result: Floats = self.circuit.incidence[branch]
        return result

    def _add_pin(self, entry: Input, what: str, high: float) -> None:
        self.limits = (*self.limits, Limit(entry.name, what, high, "V", low=BELOW_GROUND))
        circuit = self.circuit
        self._selectors.append(circuit.pair(circuit.node(entry.node), circuit.node(entry.ground)))

    def sound_raised(self) -> None:
        """Raise limits to what the sound machine itself does in any operator state."""
        most = np.zeros(len(self.limits))
        low = np.array([lim.low for lim in self.limits])
        for state in self.states:
            solution = solve_full(self.engine.stage(state), self.circuit.nominal[None])
            value = self._values(solution)[0]
            most, low = np.maximum(most, value), np.minimum(low, np.minimum(value * HEADROOM, 0.0))
        unit = np.array([lim.unit for lim in self.limits])
        room = np.where(unit == "V", 1.02, np.where(unit == "W", HEADROOM**2, HEADROOM))
        self.high: Floats = np.maximum(np.array([lim.high for lim in self.limits]), room * most)
        self.low: Floats = np.where(unit == "V", np.minimum(low, BELOW_GROUND), -1.0)

    def _values(self, solution: Solution) -> Floats:
        """``(c, l)`` the quantity of each limit."""
        amps = np.abs(solution.currents[:, self._currents])
        heat = np.array([lim.unit == "W" for lim in self.limits[: len(self._currents)]], bool)
        if heat.any():
            ohms = 1 / np.maximum(solution.siemens[:, np.array(self._currents)[heat]], 1e-12)
            amps[:, heat] = amps[:, heat] ** 2 * ohms
        volts = (
            solution.volts @ np.array(self._selectors).T if self._selectors else np.zeros((solution.count, 0))
        )
        loads = len(self.circuit.loads)
        volts[:, :loads] = np.abs(volts[:, :loads])
        overfed = np.where(solution.modes[:, self._overfed], 2.0, 0.0)
        result: Floats = np.concatenate([amps, volts, overfed], axis=1)
        return result

    def measure(self, solution: Solution, cure: Cure | None = None) -> Measured:
        """Every limit in a batch, and what the leads and resistors of a cure bear."""
        value = self._values(solution)
        ratio = value / self.high
        below = (value < self.low) & (value < 0)
        ratio = np.where(below, value / self.low, ratio)
        if cure is None or not cure.attached:
            return Measured(self.limits, value, ratio)
        added, extra = self._attached(solution, cure)
        high = np.array([lim.high for lim in added])
        return Measured(
            (*self.limits, *added),
            np.concatenate([value, extra], axis=1),
            np.concatenate([ratio, extra / high], axis=1),
        )

    def _attached(self, solution: Solution, cure: Cure) -> tuple[list[Limit], Floats]:
        base = len(self.circuit.branches)
        wires = [a for a in cure.attached if a.kind != "target"]
        added, columns = [], []
        for i, a in enumerate(wires):
            amps = np.abs(solution.currents[:, base + i])
            ends = f"{shown(a.red)} to {shown(a.black)}"
            hot = a.kind == "resistor" or (a.kind == "source" and a.ohms > 1.0)
            added.append(
                Limit(f"resistor {ends}", "resistor", cure.watts, "W", base + i)
                if hot
                else Limit(f"lead {ends}", "lead", LEAD_AMPS, "A", base + i)
            )
            columns.append(amps**2 * a.ohms if hot else amps)
        return added, np.array(columns, np.float64).T.reshape(solution.count, len(wires))


def shown(terminal: str) -> str:
    """A terminal as a mechanic calls it."""
    posts = {"battery.+": "battery+", "battery.-": "battery-"}
    return posts.get(terminal, terminal.removesuffix(".machine"))

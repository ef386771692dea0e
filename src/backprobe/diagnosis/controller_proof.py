"""A controller is named last: what must have been read before it may lead.

Electronics is at fault in few machines and blamed in many, so a controller leads an answer only
when its feed and ground were proven under load, every input that its function asks for was
proven true with the plug on, and the pin in question was read with the plug on. What is missing
is the next check. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.checks import Candidate, home_setup, is_safe, pair_minutes
from backprobe.diagnosis.engine import Engine
from backprobe.readings.model import Reading
from backprobe.readings.points import Point, find_point, reachable_points
from backprobe.sheet.anatomy import Input, Mode
from backprobe.sheet.functions import inputs_of
from backprobe.sheet.latches import SET
from backprobe.sheet.logic import Both, Either, Is, Not, Rule, parse_rule
from backprobe.sheet.model import Part

if TYPE_CHECKING:
    from backprobe.diagnosis.answer import Answer, Suspect

LOADED_LOSS = 0.06
"""Share of the system's volts that feed and ground together may lose under load [1]; 0.5 V in a 12 V
circuit and a little for the battery; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Missing:
    """Something that has to be read before a controller may be blamed.

    Parameters
    ----------
    what
        What it would prove, in words.
    check
        The reading to take; None where no lead can get at it.
    """

    what: str
    check: Candidate | None


@dataclass(frozen=True, slots=True)
class HeldBack:
    """A suspect inside a controller that may not lead yet."""

    suspect: str
    probability: float
    missing: tuple[Missing, ...]


def hold_back(answer: Answer) -> Answer:
    """The answer with the suspects inside a controller that are not proven yet behind all others."""
    home = home_setup(answer)
    boxes = _Boxes(answer.engine, answer.readings.all, home)
    missing = {s.name: _missing_of(answer, boxes, s) for s in answer.suspects}
    held = tuple(HeldBack(s.name, s.probability, missing[s.name]) for s in answer.suspects if missing[s.name])
    if not held:
        return answer
    groups = [
        replace(g, suspects=tuple(sorted(g.suspects, key=lambda s: bool(missing[s.name]))))
        for g in answer.groups
    ]
    groups.sort(key=lambda g: all(missing[s.name] for s in g.suspects))
    return replace(answer, groups=tuple(groups), held=held)


def _missing_of(answer: Answer, boxes: _Boxes, suspect: Suspect) -> tuple[Missing, ...]:
    modes = [answer.engine.catalogue.modes[k] for k in suspect.modes]
    return tuple(x for m in modes if m.family == "electronics" for x in boxes.missing(m))


def missing_proof(
    engine: Engine, readings: Sequence[Reading], home: Setup, mode: Mode
) -> tuple[Missing, ...]:
    """What has not been read yet and must be, before a fault inside a controller may lead.

    Parameters
    ----------
    home
        The setup of the complaint; what is missing is asked for there, with the controller plugged.
    mode
        A failure mode of a controller.

    Returns
    -------
    tuple of Missing
        Empty when feed and ground, the inputs and the pin itself are proven.
    """
    return _Boxes(engine, readings, home).missing(mode)


class _Boxes:
    """The proofs of a sheet's controllers, each begun once for all the faults that it may have."""

    def __init__(self, engine: Engine, readings: Sequence[Reading], home: Setup) -> None:
        self.engine, self.readings, self.home = engine, readings, home
        self.proofs: dict[str, _Proof] = {}

    def missing(self, mode: Mode) -> tuple[Missing, ...]:
        if mode.part not in self.proofs:
            box = self.engine.sheet.parts[mode.part]
            self.proofs[mode.part] = _Proof(self.engine, self.readings, self.home, box)
        return self.proofs[mode.part].missing(mode)


class _Proof:
    def __init__(self, engine: Engine, readings: Sequence[Reading], home: Setup, box: Part) -> None:
        self.engine, self.sheet, self.box = engine, engine.sheet, box
        self.node = engine.circuit.node
        self.ends: dict[str, set[int]] = {}
        self.plugs: set[str] = set()
        for pin in box.pins:
            self._reach(pin)
        self.plugged = Setup(home.state, home.unplugged - self.plugs)
        self.volts = [
            r for r in readings if r.kind == "volts" and r.numeric and not r.setup.unplugged & self.plugs
        ]
        self.words = [r for r in readings if r.kind == "code"]
        self.dead = [r for r in readings if r.kind == "works" and r.seen == "dead"]

    def missing(self, mode: Mode) -> tuple[Missing, ...]:
        found = [*self._around, *self._pin(mode)]
        return tuple(m for i, m in enumerate(found) if m.what not in {k.what for k in found[:i]})

    @cached_property
    def _around(self) -> list[Missing]:
        """What is missing whichever of its pins is in question."""
        return [*self._supply(), *self._inputs()]

    @cached_property
    def _points(self) -> list[Point]:
        return reachable_points(self.sheet, self.plugged.unplugged)

    def _reach(self, pin: str) -> None:
        """The nodes that are one with a pin but for the contact of its plug, and that plug."""
        start = self.node(f"{self.box.name}.{pin}")
        near = {start}
        for part in self.sheet.parts.values():
            if part.kind != "contact":
                continue
            own = {self.node(f"{part.name}.{end}") for end in ("wire", "machine", "part")}
            if start in own:
                near |= own
                self.plugs.add(part.texts["connector"])
        self.ends[pin] = near

    def _at(self, terminal: str, near: set[int]) -> bool:
        return self.node(terminal) in near

    # --- feed and ground ------------------------------------------------------------------

    def _supply(self) -> list[Missing]:
        feeds = [n for n, p in self.box.pins.items() if p.role == "battery"]
        grounds = [n for n, p in self.box.pins.items() if p.role == "ground" and "sensor" not in n]
        what = f"feed and ground of {self.box.name}, under load with the plug on"
        for feed in feeds:
            if not any(self._supplied(feed, ground) for ground in grounds or [""]):
                red, black = self._point(feed), self._point(grounds[0]) if grounds else None
                return [Missing(what, self._ask(red, black or self._post()))]
        return []

    def _supplied(self, feed: str, ground: str) -> bool:
        """Whether feed against ground, or each against one post, were read as good as loaded ones are."""
        posts = {self.node("battery.-"), self.node("frame")}
        hot, cold = self.ends[feed], self.ends.get(ground, posts)
        whole = self.sheet.system_volts * (1 - LOADED_LOSS)
        ends = [(self.node(r.red), self.node(r.black), r.value) for r in self.volts]
        if any(red in hot and black in cold and value >= whole for red, black, value in ends):
            return True
        high = [value for red, black, value in ends if red in hot and black in posts]
        low = [value for red, black, value in ends if red in cold and black in posts]
        return bool(high and low) and max(high) - max(abs(v) for v in low) >= whole

    # --- inputs ---------------------------------------------------------------------------

    def _inputs(self) -> list[Missing]:
        found: list[Missing] = []
        for reading in self.dead:
            for name, meanings in self._asked(self.sheet.functions[reading.subject].releases).items():
                if (
                    name not in inputs_of(self.sheet)
                    or f"{self.box.name}.{name}" not in self.engine.circuit.inputs
                ):
                    continue
                if not self._input_true(name, meanings, reading.setup):
                    words = " or ".join(sorted(meanings))
                    what = f"{name} {words} with the plug on, in the state of the complaint"
                    found.append(Missing(what, self._ask(self._point(name), self._post(), reading.setup)))
        return found

    def _asked(self, rule: str) -> dict[str, set[str]]:
        """What a release rule asks of each subject, through the latches that it names."""
        wanted = _wanted(parse_rule(rule)) if rule else {}
        for name, latch in self.sheet.latches.items():
            if wanted.get(name) == {SET} and latch.sets:
                for subject, meanings in _wanted(parse_rule(latch.sets)).items():
                    wanted[subject] = wanted.get(subject, set()) | meanings
        return wanted

    def _input_true(self, name: str, meanings: set[str], setup: Setup) -> bool:
        entry = self.engine.circuit.inputs[f"{self.box.name}.{name}"]
        said = [r for r in self.words if r.subject == name and r.setup.state == setup.state]
        if any(r.seen in meanings for r in said):
            return True
        here = [r for r in self.volts if self._at(r.red, self.ends[name]) and r.setup.state == setup.state]
        return any(_in_band(entry, r.value) in meanings for r in here)

    # --- the pin in question --------------------------------------------------------------

    def _pin(self, mode: Mode) -> list[Missing]:
        pins = [n for n in self.box.pins if mode.mode.startswith(f"{n} ")]
        pin = max(pins, key=len, default="")
        if not pin or self.box.pins[pin].role in {"battery", "ground"}:
            return []
        near = self.ends[pin]
        read = [r for r in self.volts if self._at(r.red, near) or self._at(r.black, near)]
        if self.box.pins[pin].role == "output":
            asked = {r.setup.state for r in self.dead}
            read = [r for r in read if not asked or r.setup.state in asked]
        if read:
            return []
        what = f"{pin} of {self.box.name}, read with the plug on"
        return [Missing(what, self._ask(self._point(pin), self._post()))]

    # --- asking ---------------------------------------------------------------------------

    def _point(self, pin: str) -> Point | None:
        return next((p for p in self._points if self._at(p.terminal, self.ends[pin])), None)

    def _post(self) -> Point | None:
        return find_point("battery-", self.sheet)

    def _ask(self, red: Point | None, black: Point | None, setup: Setup | None = None) -> Candidate | None:
        where = Setup(setup.state, setup.unplugged - self.plugs) if setup else self.plugged
        if red is None or black is None or red.terminal == black.terminal:
            return None
        # The complaint's own state is the mechanic's; any other must be safe.
        if where.state != self.plugged.state and not is_safe(self.sheet, self.plugged, where):
            return None
        return Candidate("volts", where, red, black, minutes=pair_minutes(red, black))


def _wanted(rule: Rule, negated: bool = False) -> dict[str, set[str]]:
    """What a rule asks of each subject; what it only forbids is left out."""
    match rule:
        case Is(subject, meaning):
            return {} if negated else {subject: {meaning}}
        case Not(inner):
            return _wanted(inner, not negated)
        case Both(left, right) | Either(left, right):
            found = _wanted(left, negated)
            for name, meanings in _wanted(right, negated).items():
                found[name] = found.get(name, set()) | meanings
            return found


def _in_band(entry: Input, volts: float) -> str:
    return next((b.meaning for b in entry.bands if b.low <= volts < b.high), "")

"""Checks that could be done next: every reachable pair of points, in setups that are safe to make."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from backprobe.circuit.setup import Setup, target_at
from backprobe.readings.model import Reading
from backprobe.readings.points import Point
from backprobe.sheet.anatomy import Attached
from backprobe.sheet.latches import SET
from backprobe.sheet.logic import PLAIN, Is, atoms, evaluate, parse_rule
from backprobe.sheet.model import Sheet

if TYPE_CHECKING:
    from backprobe.circuit.compiled import Floats
    from backprobe.diagnosis.answer import Answer

Minutes = TypeVar("Minutes", float, "Floats")

FLIP_MINUTES = 0.3
START_MINUTES = 2.0
"""Extra time to hold a key in start for a reading: it takes a helper, or two hands."""
UNPLUG_MINUTES = 0.7
LEAD_MINUTES = 0.5
LOOK_MINUTES = 1.5
BLACK_MINUTES = 0.3
"""Time that it takes to move the black lead too [min]: with one hand free it stays where it is."""
STEEL_MINUTES = 1.0
OHMS_EXTRA = 0.5
FUSE_PULL_MINUTES = 0.7


@dataclass(frozen=True, slots=True)
class Candidate:
    """One thing that could be done and looked at.

    Parameters
    ----------
    kind
        ``volts``, ``ohms``, ``tester`` (a test lamp), ``looked`` or ``swapped``.
    red, black
        Points for the leads; None for what needs none.
    part
        The part looked at or swapped.
    minutes
        Time it takes from where the last reading was made [min].
    """

    kind: str
    setup: Setup
    red: Point | None = None
    black: Point | None = None
    part: str = ""
    minutes: float = 1.0

    def as_reading(self) -> Reading:
        """The check as a reading still without a value."""
        if self.red is None or self.black is None:
            return Reading(self.kind, self.setup, subject=self.part)
        if self.kind == "tester":
            subject = f"test lamp from {self.red.name} to {self.black.name}"
            ends = (self.red.terminal, self.black.terminal, self.red.name, self.black.name)
            return Reading("tester", self.setup, *ends, subject=subject)
        return Reading(
            self.kind, self.setup, self.red.terminal, self.black.terminal, self.red.name, self.black.name
        )

    def words(self) -> str:
        """What to do, in one line, without the setup."""
        if self.red is None or self.black is None:
            return f"look at {self.part}" if self.kind == "looked" else f"fit a known good {self.part}"
        held = [f"hold {a.what} at the face of {a.red}, " for a in self.setup.attached if a.kind == "target"]
        steel = "".join(held)
        if self.kind == "tester":
            return f"test lamp from {self.red.name} to {self.black.name}"
        unit = {"volts": "volts", "ohms": "ohms"}[self.kind]
        return f"{steel}{unit} from {self.red.name} (red) to {self.black.name} (black)"


def in_reach(candidate: Candidate, without: Collection[str], last: Setup) -> bool:
    """Whether a check touches nothing that cannot be reached.

    Parameters
    ----------
    without
        Points, parts and plugs that cannot be reached, by name; a cavity stands for both its sides.
    last
        The setup that is there already: a plug that is off need not be reached to stay off.
    """
    if not without:
        return True
    points = [p for p in (candidate.red, candidate.black) if p is not None]
    touched = {name for p in points for name in (p.name, p.name.removesuffix(f" {p.side} side"), p.connector)}
    touched |= {candidate.part, *(candidate.setup.unplugged ^ last.unplugged)}
    touched |= {a.red for a in candidate.setup.attached if a.kind == "target"}
    return not touched & set(without)


def candidate_setups(sheet: Sheet, answer: Answer) -> list[Setup]:
    """Setups worth a thought: where the complaint shows, one thing changed from there, and at rest."""
    home = home_setup(answer)
    setups = [home]
    complained = any(r.kind == "works" for r in answer.readings.all)
    # A relay or a fuse that is out holds something still: it stays out, whatever is plugged again.
    held_out = frozenset(n for n in home.unplugged if n not in sheet.connectors)
    plain = Setup(home.state, home.unplugged if complained else held_out)
    rest = rest_setup(sheet)
    for connector in sheet.connectors:
        setups += [plain.without(connector), rest.without(connector)]
    for control in sheet.controls.values():
        setups += [
            plain.moved(control.name, p) for p in control.positions if p != plain.position(control.name)
        ]
    faces = {g.name for b in answer.engine.circuit.branches for g in b.gates if isinstance(g, Attached)}
    for part in sheet.parts.values():
        if part.name in faces:
            setups.append(plain.with_attached(target_at(sheet, part.name)))
        if part.kind == "ring" and not part.implied:
            setups.append(plain.without(part.name))
    offered = [s for s in dict.fromkeys(setups) if s == home or is_safe(sheet, home, s)]
    # Where a reading was made already, another can be made.
    made = [r.setup for r in answer.readings.all if not r.setup.attached and r.kind != "works"]
    return list(dict.fromkeys([*offered, *(s for s in made if is_safe(sheet, home, s))]))


def is_safe(sheet: Sheet, home: Setup, setup: Setup) -> bool:
    """Whether no function is asked for while its guard is open.

    A fault may be in the guard circuit itself, so a guard is only opened for a check with the key
    out of start and nothing asked for. The complaint's own state is left to the mechanic.
    """
    state = dict(setup.state)
    latched = {
        latch.name
        for latch in sheet.latches.values()
        if state.get(latch.name) == SET or all(state.get(s.control) == s.position for s in latch.by)
    }

    def holds(atom: Is) -> bool:
        if atom.subject in latched:
            # Set, or just being set: the inputs of its rule are taken as true as well.
            return atom.meaning == SET
        return state.get(atom.subject, atom.meaning) == atom.meaning

    for function in sheet.functions.values():
        guard = parse_rule(function.guard) if function.guard else None
        if guard is None or evaluate(guard, holds, PLAIN):
            continue
        guarding = {atom.subject for atom in atoms(guard)}
        if function.releases:
            # Inputs are taken as true: a lying input is just what may be wrong.
            wanted = evaluate(parse_rule(function.releases), holds, PLAIN)
        else:
            at_home = dict(home.state)
            wanted = bool(latched) or all(state[c] == at_home[c] for c in state if c not in guarding)
        if wanted or "start" in state.values():
            return False
    return True


def home_setup(answer: Answer) -> Setup:
    """The setup of the complaint, else of the last reading."""
    for reading in answer.readings.all:
        if reading.kind == "works":
            # What was unplugged for safety in this state stays unplugged.
            same = [r.setup for r in answer.readings.all if r.setup.state == reading.setup.state]
            kept = [s for s in same if not s.attached]
            return Setup(reading.setup.state, kept[-1].unplugged if kept else frozenset())
    with_setup = [r for r in answer.readings.all if r.kind not in {"swapped", "looked"}]
    if with_setup:
        return with_setup[-1].setup
    return rest_setup(answer.engine.sheet)


def rest_setup(sheet: Sheet) -> Setup:
    """Every control at rest, everything plugged."""
    return Setup(tuple(sorted((c.name, c.positions[0]) for c in sheet.controls.values())))


def change_minutes(one: Setup, other: Setup, sheet: Sheet) -> float:
    """Time to get from one setup to another [min]."""
    minutes = FLIP_MINUTES * sum(a != b for a, b in zip(one.state, other.state, strict=False))
    if "start" in dict(other.state).values() and "start" not in dict(one.state).values():
        minutes += START_MINUTES
    for name in one.unplugged ^ other.unplugged:
        connector = sheet.connectors.get(name)
        minutes += UNPLUG_MINUTES + (connector.minutes if connector else FUSE_PULL_MINUTES)
    minutes += STEEL_MINUTES * sum(a.kind == "target" for a in other.attached if a not in one.attached)
    return minutes


def pair_minutes(red: Point, black: Point) -> float:
    """Time to place both leads [min]."""
    return lead_minutes(max(red.minutes, black.minutes), min(red.minutes, black.minutes))


def lead_minutes(farther: Minutes, nearer: Minutes) -> Minutes:
    """Time to place both leads, given how long it takes to reach each point [min]."""
    return LEAD_MINUTES + farther + 0.3 * nearer

"""The cautions of a check: what this sheet has, and only what can happen in the check's own state."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from itertools import islice, product

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.checks import Candidate
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.predict import function_works
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Function, Item, Sheet

START = "start"
NEUTRAL = "neutral"
BEFORE_UNPLUGGING = "Key off before {name} is unplugged or plugged."
CRANKS = "The engine may crank: out of gear, wheels blocked, nobody near."
CRANKS_IN_NEUTRAL = "The engine may crank: {control} in neutral, wheels blocked, nobody near."
NOBODY = "nobody near"
ONLY_SEATED = "nobody near but the one in the seat"
ONLY_HOLDING = "nobody near but the one who holds the controls"
HELPER = "Needs a second person: one keeps {list}, the other reads."
HELD = frozenset({"seated", "pressed", "held", "gripped", "occupied"})
"""Positions that last only while somebody sits, presses or holds."""
SITS = frozenset({"seated", "occupied"})
PEDAL = "pedal"
FOOT = frozenset({"brake", "clutch"})
"""Words in the name of a control that may be a pedal, which a foot holds away from rest."""
NO_CRANKING = "Unplug {name} first, so that the engine cannot crank: nothing that is read here hangs on it."
SMALL_WIRE = (
    "Where {relay} feeds a starter, take the small wire off the starter first, so that the engine cannot "
    "crank."
)
ROLLS = "Wheels blocked before the {control} is released."
MOVES = "The function may move: attachment on the ground or blocked, nobody in its reach."
OHMS_DEAD = "Ohms only on a dead circuit: key off, touch the leads together first and note what they show."
STEEL = "Hold the steel with the machine standing still; keep hands and clothes out of moving parts."
MEASURED = frozenset({"volts", "ohms", "tester"})
"""Kinds of check that are made with leads on the machine as it is."""
CRANK = "crank"
MOST_STATES = 32
_WORD = re.compile(r"\w+")
COIL_ENDS = frozenset({"85", "86"})
WORKS = 0.5


def cautions_of(candidate: Candidate, engine: Engine, last: Setup) -> tuple[str, ...]:
    """The cautions that belong to this check, and only those.

    Parameters
    ----------
    last
        The setup that is there already.
    """
    sheet = engine.sheet
    found = list(_of_state(candidate, engine)) if candidate.kind in MEASURED else []
    found += [BEFORE_UNPLUGGING.format(name=n) for n in sorted(candidate.setup.unplugged ^ last.unplugged)]
    for control, position in candidate.setup.state:
        if "brake" in control and position == "released" != dict(last.state).get(control):
            found.append(ROLLS.format(control=control))
    if candidate.kind == "ohms":
        found.append(OHMS_DEAD)
    if any(a.kind == "target" for a in candidate.setup.attached):
        found.append(STEEL)
    for point in (candidate.red, candidate.black):
        if point and point.connector and sheet.connectors[point.connector].caution:
            found.append(sheet.connectors[point.connector].caution)
    if candidate.part and candidate.part in sheet.parts and sheet.parts[candidate.part].caution:
        found.append(sheet.parts[candidate.part].caution)
    own = [text for text in sheet.cautions if _applies(text, candidate, sheet)]
    # What the sheet itself keeps still comes first: it was written for this machine.
    first = [text for text in own if CRANK in text]
    return tuple(dict.fromkeys([*first, *found, *own]))


def of_cranking(text: str, sheet: Sheet) -> bool:
    """Whether a caution of a sheet speaks of holding the key: nothing cranks where nobody does."""
    said = text.casefold()
    return any(START in c.positions for c in sheet.controls.values()) and (
        CRANK in said or START in _WORD.findall(said)
    )


def _applies(text: str, candidate: Candidate, sheet: Sheet) -> bool:
    """Whether a caution of the sheet has to do with a check."""
    if not of_cranking(text, sheet):
        return True
    if candidate.kind not in MEASURED or START not in dict(candidate.setup.state).values():
        return False
    return not any(text.casefold().startswith(f"unplug {n.casefold()} ") for n in candidate.setup.unplugged)


def may_move(engine: Engine, setup: Setup) -> bool:
    """Whether a function can be powered in a setup, whatever its guards say; the engine keeps the answer.

    A guard may be what is faulty, so each is taken to be open and shut.
    """
    if setup not in engine.movable:
        bare = Setup(setup.state, setup.unplugged)
        within = _with_contacts(engine.sheet)
        functions = list(engine.sheet.functions.values())
        # What only shuts a contact moves nothing itself, as long as something else is known to.
        moving = [f for f in functions if not f.loads or set(f.loads) - within] or functions
        engine.movable[setup] = any(_works(engine, f, bare) for f in moving)
    return engine.movable[setup]


def _works(engine: Engine, function: Function, setup: Setup) -> bool:
    controls = engine.sheet.controls
    asked = {a.subject for a in atoms(parse_rule(function.guard))} if function.guard else set()
    moved = [c for n, c in controls.items() if n in asked and n in dict(setup.state)]
    for positions in islice(product(*(c.positions for c in moved)), MOST_STATES):
        tried = setup
        for control, position in zip(moved, positions, strict=True):
            tried = tried.moved(control.name, position)
        solution = engine.sound(tried)
        if function_works(solution, function.name)[0] > WORKS:
            return True
    return False


def state_cautions(engine: Engine, setup: Setup) -> tuple[str, ...]:
    """What any volts in a setup have to mind, wherever the leads are."""
    return tuple(_of_state(Candidate("volts", setup), engine))


def _of_state(candidate: Candidate, engine: Engine) -> Iterator[str]:
    sheet, state = engine.sheet, dict(candidate.setup.state)
    moves = candidate.kind != "ohms" and may_move(engine, candidate.setup)
    if START not in state.values():
        if moves:
            yield MOVES
        return
    held = _held(sheet, state)
    if moves:
        # What keeps the engine still comes first, then what to mind should it turn all the same.
        yield from _kept_still(candidate, sheet)
        neutral = next((n for n, p in state.items() if NEUTRAL in sheet.controls[n].positions), "")
        sits = any(p in SITS for p in state.values())
        who = ONLY_SEATED if sits else ONLY_HOLDING if held else NOBODY
        said = CRANKS_IN_NEUTRAL.format(control=neutral) if neutral else CRANKS
        yield said.replace(NOBODY, who)
    if held:
        key = [f"{n} {p}" for n, p in state.items() if p == START]
        yield HELPER.format(list=" and ".join([", ".join([*key, *held][:-1]), held[-1]]))


def _held(sheet: Sheet, state: Mapping[str, str]) -> list[str]:
    """What somebody has to hold, sit on or stand on, the key left out; empty where nothing is."""
    held = {
        n: f"{n} {p}" for n, p in state.items() if p in HELD or (PEDAL in n.split() and _moved(sheet, n, p))
    }
    if not held:
        return []
    # A brake that is set may be a lever that stays or a pedal that does not: the sheet does not say.
    maybe = {
        n: f"{n} {p} (if it is a pedal)"
        for n, p in state.items()
        if FOOT & {*n.split()} and _moved(sheet, n, p)
    }
    return [*(maybe | held).values()]


def _moved(sheet: Sheet, name: str, position: str) -> bool:
    return name in sheet.controls and position != sheet.controls[name].positions[0]


def small_wire_relays(sheet: Sheet) -> tuple[str, ...]:
    """Relays that may feed a starter, where only its small wire keeps the engine from cranking."""
    if not any(START in c.positions for c in sheet.controls.values()):
        return ()
    if any(CRANK in c for c in sheet.cautions) or _before_the_load(sheet, _loads(sheet)):
        return ()
    contacts = _with_contacts(sheet)
    return tuple(n for n in sorted(_loads(sheet)) if sheet.parts[n].kind == "relay" and n not in contacts)


def _kept_still(candidate: Candidate, sheet: Sheet) -> Iterator[str]:
    """How the engine is kept from cranking, unless the sheet says so itself."""
    if any(CRANK in c for c in sheet.cautions):
        return
    plugs = [p for p in _before_the_load(sheet, _loads(sheet)) if p not in candidate.setup.unplugged]
    here = {p.connector for p in (candidate.red, candidate.black) if p is not None}
    if plugs and not here & set(plugs):
        yield NO_CRANKING.format(name=plugs[0])
        return
    contacts = _with_contacts(sheet)
    for name in sorted(_loads(sheet)):
        if sheet.parts[name].kind == "relay" and name not in contacts:
            yield SMALL_WIRE.format(relay=name)


def _loads(sheet: Sheet) -> set[str]:
    return {name for f in sheet.functions.values() for name in f.loads}


def _before_the_load(sheet: Sheet, loads: set[str]) -> list[str]:
    """Plugs between the contact of a relay and the load that it feeds, or behind one that is the load."""
    plug_of = {cavity: c.name for c in sheet.connectors.values() for cavity in c.cavities}
    found: list[str] = []
    for run in sheet.runs.values():
        names = [i.part for i in run.items]
        for k, item in enumerate(run.items):
            relay = item.part in sheet.parts and sheet.parts[item.part].kind == "relay" and _is_contact(item)
            if relay and loads & set(names[k:]):
                found += [plug_of[n] for n in names[k:] if n in plug_of]
    return list(dict.fromkeys(found))


def _with_contacts(sheet: Sheet) -> frozenset[str]:
    """Relays whose contact is drawn: they move nothing but that contact."""
    relays = {n for n, p in sheet.parts.items() if p.kind == "relay"}
    items = [i for run in sheet.runs.values() for i in run.items if i.part in relays]
    return frozenset(i.part for i in items if _is_contact(i))


def _is_contact(item: Item) -> bool:
    return item.enter.rpartition(".")[2] not in COIL_ENDS

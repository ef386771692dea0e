"""The tables of a pocket card: faults, points, setups and how each fault leaves the circuit in each setup.

The page solves circuits itself, a star and mesh at a time, so that it follows a reading as far as the engine
does. What takes time there is to find which relays pull, which sensors starve and what a controller then
drives; for every fault in every setup that is near at hand this is settled here and carried as one byte.
"""

from __future__ import annotations

import base64
from collections.abc import Iterator
from itertools import islice

import numpy as np

from backprobe.circuit.setup import Setup
from backprobe.diagnosis import seen
from backprobe.diagnosis.cautions import of_cranking, state_cautions
from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import operator_states, try_states
from backprobe.readings.points import Point, reachable_points
from backprobe.report.pocket.circuit_table import Table, circuit_table
from backprobe.report.pocket.constants import constants, words
from backprobe.report.pocket.proof_table import pin_of, proof_table
from backprobe.sheet.anatomy import WhilePlugged
from backprobe.sheet.functions import inputs_of
from backprobe.sheet.logic import atoms, parse_rule
from backprobe.sheet.model import Sheet

MOST_STATES = 48
"""Operator states settled beforehand, nearest to rest first; the page settles others itself, only slower."""
MOST_PATTERNS = 255
"""Ways in which devices may stand that one byte tells apart; this number itself says that it is not told."""
FUSES = frozenset({"fuse", "circuit breaker", "fusible link"})
HELD = frozenset({"fuse", "ring", "relay"})
"""Kinds of parts that come out of a holder or off a bolt."""


def tables(engine: Engine) -> Table:
    """Everything that the page of one sheet needs, as plain JSON values."""
    sheet = engine.sheet
    return {
        "sheet": sheet.name,
        "volts": sheet.system_volts,
        "constants": constants(),
        "controls": [
            {"name": c.name, "positions": list(c.positions), "remembered": c.remembered}
            for c in sheet.controls.values()
        ],
        "plugs": _plugs(engine),
        "points": _points(engine),
        "functions": list(sheet.functions),
        "lamps": _lamps(engine),
        "inputs": {name: list(words) for name, words in inputs_of(sheet).items()},
        "relays": sorted(engine_relays(engine)),
        "fuses": sorted(
            p.name for p in sheet.parts.values() if p.kind in {"fuse", "circuit breaker", "fusible link"}
        ),
        "parts": _parts(engine),
        "heard": sorted(_heard(sheet)),
        "cautions": [{"text": c, "starts": of_cranking(c, sheet)} for c in sheet.cautions],
        "words": words(),
        "stateCautions": {
            setup_key(s): list(found)
            for s in dict.fromkeys(setups_at_hand(engine))
            if (found := state_cautions(engine, s))
        },
        "factors": engine.catalogue.factors,
        "builds": [build_table(e) for e in engine.builds or (engine,)],
        "shares": [[dict(b.choices), b.share] for b in sheet.builds],
    }


def build_table(engine: Engine) -> Table:
    """One build: its circuit, its faults, and how each leaves the circuit in each setup near at hand."""
    catalogue = engine.catalogue
    return {
        "circuit": circuit_table(engine.circuit),
        "modes": [
            {
                "part": m.part,
                "name": m.name,
                "family": m.family,
                "eye": seen.by_eye(engine, m),
                "wear": m.is_wear,
                "ohms": engine.circuit.parameter_of[next(iter(m.changes))],
                "spread": m.spread,
                "repair": m.repair,
                "minutes": m.minutes,
                "broken": bool(seen.BLOWN.search(m.mode)),
                "hidden": "inside" in m.mode,
                "comesAndGoes": seen._comes_and_goes(m),
                "pin": pin_of(m.part, m.mode, engine.sheet),
            }
            for m in catalogue.modes
        ],
        "modeOf": catalogue.mode_of.tolist(),
        "logPrior": catalogue.log_prior.tolist(),
        "spreadOf": catalogue.spread_of.tolist(),
        "index": catalogue.changes.index.tolist(),
        "value": catalogue.changes.value.tolist(),
        "proof": proof_table(engine.circuit),
        "settled": settled_table(engine),
    }


def setups_at_hand(engine: Engine) -> Iterator[Setup]:
    """Every operator state, nearest to rest first; at rest and where most works, each plug off as well."""
    sheet = engine.sheet
    rest = next(iter(operator_states(sheet)))
    best = try_states(engine, every=False).best
    yield from islice(operator_states(sheet), MOST_STATES)
    for home in dict.fromkeys((rest, best or rest)):
        yield home
        yield from (home.without(name) for name in sheet.connectors)


def settled_table(engine: Engine) -> Table:
    """For each setup at hand and each row of faults, how the devices stand once the circuit has come to rest.

    ``patterns`` are the ways they stand, each device a character and a last one for a circuit that
    chatters; ``rows`` gives for each setup the number of the pattern of every row, as bytes.
    """
    number_of: dict[str, int] = {}
    rows: dict[str, str] = {}
    for setup in dict.fromkeys(setups_at_hand(engine)):
        found = engine.singles(setup)
        chats = found.chatters[:, None].astype(np.int64)
        words = ["".join(map(str, row)) for row in np.hstack([found.modes.astype(np.int64), chats]).tolist()]
        numbers = [number_of.setdefault(word, len(number_of)) for word in words]
        told = bytes(min(n, MOST_PATTERNS) for n in numbers)
        rows[setup_key(setup)] = base64.b64encode(told).decode("ascii")
    return {"patterns": list(number_of)[:MOST_PATTERNS], "rows": rows, "untold": MOST_PATTERNS}


def setup_key(setup: Setup) -> str:
    """A setup as one text, as the page writes it too."""
    state = "|".join(f"{c}={p}" for c, p in setup.state)
    return f"{state}#{'|'.join(sorted(setup.unplugged))}"


def _plugs(engine: Engine) -> list[Table]:
    """What can be taken off: plugs first, then what sits in a holder or on a bolt."""
    sheet = engine.sheet
    found = [
        {"name": c.name, "minutes": c.minutes, "plug": True, "caution": c.caution, "ring": False}
        for c in sheet.connectors.values()
    ]
    gated = {g.name for b in engine.circuit.branches for g in b.gates if isinstance(g, WhilePlugged)}
    for part in sheet.parts.values():
        if part.name in gated and part.kind in HELD and not part.implied:
            found.append(
                {
                    "name": part.name,
                    "minutes": 0.0,
                    "plug": False,
                    "caution": part.caution,
                    "ring": part.kind == "ring",
                }
            )
    return found


def _points(engine: Engine) -> list[Table]:
    """Every point in the order of `reachable_points`, each with the plug state in which it can be touched."""
    sheet = engine.sheet
    plugged = reachable_points(sheet)
    unplugged = reachable_points(sheet, sheet.connectors)
    metal = [p for p in plugged if not p.connector]
    posts = _before_plugs(plugged)
    by_plug: list[Point] = []
    for name in sheet.connectors:
        by_plug += [p for p in [*plugged, *unplugged] if p.connector == name]
    ordered = [*metal[:posts], *by_plug, *metal[posts:]]
    return [
        {
            "name": p.name,
            "terminal": p.terminal,
            "plug": p.connector,
            "side": p.side,
            "minutes": p.minutes,
            "nodes": [e.circuit.node(p.terminal) for e in engine.builds or (engine,)],
        }
        for p in ordered
    ]


def _before_plugs(points: list[Point]) -> int:
    """How many points come before the first cavity."""
    return next((k for k, p in enumerate(points) if p.connector), len(points))


def _lamps(engine: Engine) -> dict[str, list[str]]:
    """Lamps by name with what they may look like."""
    sheet = engine.sheet
    drawn = [name for name, load in engine.circuit.loads.items() if load.kind in {"lamp", "led"}]
    found = {name: ["lit", "dim", "dark"] for name in drawn}
    for name, patterns in sheet.lamps.items():
        looks = [pattern for pattern, _ in patterns]
        extra = ["dim", "dark"] if name in drawn else ["dark"]
        found[name] = list(dict.fromkeys([*looks, *extra]))
    return found


def engine_relays(engine: Engine) -> list[str]:
    """Parts whose armature can be heard."""
    return [k.removesuffix(".armature") for k in engine.circuit.device_of if k.endswith(".armature")]


def _parts(engine: Engine) -> dict[str, Table]:
    """Parts that can be faulty: minutes to reach, and their caution."""
    sheet = engine.sheet
    found: dict[str, Table] = {}
    for name in dict.fromkeys(m.part for m in engine.catalogue.modes):
        part = sheet.parts.get(name)
        if part is None:
            plug = sheet.connectors.get(name)
            found[name] = {"minutes": plug.minutes if plug else 1.0, "caution": ""}
        else:
            reach = 1.0 if part.minutes is None else part.minutes
            found[name] = {"minutes": reach, "caution": part.caution}
    return found


def _heard(sheet: Sheet) -> set[str]:
    """Controls that the rules of functions speak of."""
    rules = [f.releases for f in sheet.functions.values() if f.releases]
    return {a.subject for r in rules for a in atoms(parse_rule(r))} & set(sheet.controls)

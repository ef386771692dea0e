"""What proves a controller, as tables: the nodes that are one with each pin, what each function asks."""

from __future__ import annotations

from backprobe.circuit.compiled import Circuit
from backprobe.diagnosis.controller_proof import LOADED_LOSS
from backprobe.report.pocket.circuit_table import Table
from backprobe.sheet.functions import inputs_of
from backprobe.sheet.latches import SET
from backprobe.sheet.logic import Both, Either, Is, Not, Rule, parse_rule
from backprobe.sheet.model import Sheet


def proof_table(circuit: Circuit) -> Table:
    """For each controller its pins, plugs and inputs; for each function what it asks of inputs."""
    sheet = circuit.sheet
    return {
        "loss": LOADED_LOSS,
        "posts": [circuit.node("battery.-"), circuit.node("frame")],
        "asked": {f.name: _asked(f.releases, sheet) for f in sheet.functions.values()},
        "boxes": {
            part.name: _box(part.name, circuit) for part in sheet.parts.values() if part.kind == "controller"
        },
    }


def pin_of(part: str, mode: str, sheet: Sheet) -> str:
    """The pin that a failure mode of a controller is about; empty where it is about the whole of it."""
    owner = sheet.parts.get(part)
    pins = [n for n in owner.pins if mode.startswith(f"{n} ")] if owner else []
    return max(pins, key=len, default="")


def _box(name: str, circuit: Circuit) -> Table:
    sheet = circuit.sheet
    plugs: set[str] = set()
    pins: dict[str, Table] = {}
    for pin in sheet.parts[name].pins.values():
        start = circuit.node(f"{name}.{pin.name}")
        near = {start}
        for part in sheet.parts.values():
            if part.kind == "contact":
                own = {circuit.node(f"{part.name}.{end}") for end in ("wire", "machine", "part")}
                if start in own:
                    near |= own
                    plugs.add(part.texts["connector"])
        ground = pin.role == "ground" and "sensor" not in pin.name
        pins[pin.name] = {"role": "earth" if ground else pin.role, "near": sorted(near)}
    return {"pins": pins, "plugs": sorted(plugs)}


def _asked(rule: str, sheet: Sheet) -> dict[str, list[str]]:
    """What a release rule asks of each input, through the latches that it names."""
    wanted = _wanted(parse_rule(rule)) if rule else {}
    for name, latch in sheet.latches.items():
        if wanted.get(name) == {SET} and latch.sets:
            for subject, meanings in _wanted(parse_rule(latch.sets)).items():
                wanted[subject] = wanted.get(subject, set()) | meanings
    return {name: sorted(meanings) for name, meanings in wanted.items() if name in inputs_of(sheet)}


def _wanted(rule: Rule, *, negated: bool = False) -> dict[str, set[str]]:
    """What a rule asks of each subject; what it only forbids is left out."""
    match rule:
        case Is(subject, meaning):
            return {} if negated else {subject: {meaning}}
        case Not(inner):
            return _wanted(inner, negated=not negated)
        case Both(left, right) | Either(left, right):
            found = _wanted(left, negated=negated)
            for name, meanings in _wanted(right, negated=negated).items():
                found[name] = found.get(name, set()) | meanings
            return found

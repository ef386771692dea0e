"""Functions and lamps: what the machine does, what releases it, what guards it, what it shows."""

from __future__ import annotations

from collections.abc import Collection

from backprobe.sheet.document import Mapping, Scalar, Sequence
from backprobe.sheet.document import field as dotted
from backprobe.sheet.findings import Findings, nearest
from backprobe.sheet.kinds import registry
from backprobe.sheet.lexicon import switch_habit
from backprobe.sheet.logic import Rule, RuleError, atoms, parse_rule
from backprobe.sheet.model import Function, Item, Part, Pin, Run, Sheet
from backprobe.sheet.parts import GUARD

GUARD_CONTROLS = frozenset(
    {"seat", "gate", "door", "bar", "brake", "pedal", "lever", "clutch", "PTO", "cover"}
    | {"joystick", "stick"}
    | {"belt", "hatch", "hood", "lid", "flap", "parking brake", "outrigger", "emergency stop"}
    | {"tailgate", "leg", "jack", "stabiliser", "stand", "support", "ramp", "guard", "interlock", "safety"}
)
"""Controls that keep people safe when a sheet does not say what the guard is."""

_AT_WORK = frozenset(
    {"drive", "moved", "raise", "lower", "lift", "forward", "reverse", "extend", "retract", "travel"}
)
COMMANDS = {
    "PTO": frozenset({"on"}),
    "lever": _AT_WORK,
    "pedal": _AT_WORK,
    "joystick": _AT_WORK | {"pressed"},
    "stick": _AT_WORK | {"pressed"},
}
"""Positions of such a control that set the machine to work: a contact closed there guards nobody."""

FIELDS = ("releases when", "drives", "guard", "loads")

OVER_CURRENT = "over-current"
"""What a controller knows of an output that it has shut down above its limit."""

OPEN_LOAD = "open load"
"""What it knows of an output that drives and gives less than its load would take."""

WATCHED = {"limit": OVER_CURRENT, "least load": OPEN_LOAD}
"""Fields of an output by which it is watched while it drives, and the word for it."""


def read_functions(document: Mapping, sheet: Sheet, findings: Findings) -> dict[str, Function]:
    """The functions section, then one implied function for each load that no function claims."""
    node = document.get("functions")
    functions: dict[str, Function] = {}
    if node is not None and not isinstance(node, Mapping):
        findings.add(
            "functions", "", "is not a set of names", "Write `functions:` and indented names.", node.line
        )
        node = None
    for key, entry in node.entries if node else ():
        name = " ".join(key.text.split())
        if not isinstance(entry, Mapping):
            findings.add(
                dotted("functions", name),
                "",
                "is not a set of fields",
                "Write {releases when: ..., drives: ...}.",
                key.line,
            )
            continue
        functions[name] = _function(name, entry, key.line, sheet, findings)
    claimed = {load for f in functions.values() for load in f.loads}
    for part in sheet.parts.values():
        if registry().by_name[part.kind].load and part.name not in claimed:
            functions[part.name] = Function(
                part.name, (part.name,), guard=_implied_guard(part.name, sheet), line=part.line, implied=True
            )
    return functions


def read_lamps(document: Mapping, sheet: Sheet, findings: Findings) -> dict[str, tuple[tuple[str, str], ...]]:
    """Lamps that the controller lights: pattern and the rule under which it shows."""
    node = document.get("lamps")
    if node is None:
        return {}
    if not isinstance(node, Mapping):
        findings.add(
            "lamps", "", "is not a set of names", "Write {gate lamp: {lit: gate input is open}}.", node.line
        )
        return {}
    found: dict[str, tuple[tuple[str, str], ...]] = {}
    for key, entry in node.entries:
        if not isinstance(entry, Mapping):
            findings.add(
                dotted("lamps", key.text), "", "has no patterns", "Write {lit: gate input is open}.", key.line
            )
            continue
        patterns: list[tuple[str, str]] = []
        for pattern, rule in entry.entries:
            path = ("lamps", key.text, pattern.text)
            if isinstance(rule, Scalar) and check_rule(rule.text, path, rule.line, sheet, findings):
                patterns.append((pattern.text, rule.text))
            elif not isinstance(rule, Scalar):
                findings.add(dotted(*path), "", "is not a rule", "Write: gate input is open.", pattern.line)
        found[" ".join(key.text.split())] = tuple(patterns)
    return found


def _function(name: str, node: Mapping, line: int, sheet: Sheet, findings: Findings) -> Function:
    texts: dict[str, str] = {}
    drives: tuple[str, ...] = ()
    loads: tuple[str, ...] = ()
    for key, entry in node.entries:
        path = ("functions", name, key.text)
        if key.text not in FIELDS:
            findings.add(
                dotted(*path), key.text, "is not a field of a function", nearest(key.text, FIELDS), key.line
            )
        elif key.text in {"drives", "loads"}:
            items = entry.items if isinstance(entry, Sequence) else (entry,)
            words = tuple(" ".join(i.text.split()) for i in items if isinstance(i, Scalar))
            if key.text == "drives":
                drives = _outputs(words, path, key.line, sheet, findings)
            else:
                loads = _loads(words, path, key.line, sheet, findings)
        elif isinstance(entry, Scalar) and check_rule(entry.text, path, entry.line, sheet, findings):
            texts[key.text] = entry.text
        elif not isinstance(entry, Scalar):
            findings.add(dotted(*path), "", "is not a rule", "Write: gate input is shut and ...", key.line)
    if not loads and drives:
        loads = tuple(
            item.part
            for run in sheet.runs.values()
            if any(_touches(run, output) for output in drives)
            for item in run.items
            if item.part in sheet.parts
            and registry().by_name[sheet.parts[item.part].kind].load
            and item.role == "part"
        )
    if not loads and not drives:
        findings.add(
            dotted("functions", name),
            name,
            "drives nothing",
            "Add `drives:` an output or `loads:` a part.",
            line,
        )
    return Function(name, loads, texts.get("releases when", ""), drives, texts.get("guard", ""), line)


def _touches(run: Run, output: str) -> bool:
    return any(output in (i.enter.partition(".")[2], i.leave.partition(".")[2]) for i in run.items)


def _outputs(
    words: tuple[str, ...], path: tuple[str, ...], line: int, sheet: Sheet, findings: Findings
) -> tuple[str, ...]:
    outputs = {p.name for part in sheet.parts.values() for p in part.pins.values() if p.role == "output"}
    for word in words:
        if word not in outputs:
            remedy = (
                nearest(word, outputs)
                or "Name a controller output in a run, such as controller.valve output."
            )
            findings.add(dotted(*path), word, "is not a controller output", remedy, line)
    return words


def _loads(
    words: tuple[str, ...], path: tuple[str, ...], line: int, sheet: Sheet, findings: Findings
) -> tuple[str, ...]:
    known = {p.name for p in sheet.parts.values() if registry().by_name[p.kind].load}
    for word in words:
        if word not in known:
            remedy = nearest(word, known) or "Name a coil, a lamp or a relay in a run."
            findings.add(dotted(*path), word, "is not a load of this sheet", remedy, line)
    return words


def inputs_of(sheet: Sheet) -> dict[str, tuple[str, ...]]:
    """What a controller reads by name, with what it can be: inputs, and outputs that it watches."""
    return {
        pin.name: tuple(dict.fromkeys((*(b.meaning for b in pin.bands), *watched_words(pin))))
        for part in sheet.parts.values()
        for pin in part.pins.values()
        if pin.role == "input" or (pin.role == "output" and (pin.bands or watched_words(pin)))
    }


def watched_words(pin: Pin) -> tuple[str, ...]:
    """What a controller can know of a pin while it drives it."""
    return tuple(word for name, word in WATCHED.items() if name in pin.values)


def check_rule(text: str, path: tuple[str, ...], line: int, sheet: Sheet, findings: Findings) -> bool:
    """Whether a rule can be read and speaks only of known inputs, bands, controls and positions."""
    try:
        rule: Rule = parse_rule(text)
    except RuleError as error:
        remedy = "Write such as: gate input is shut and boom button is pressed."
        findings.add(dotted(*path), text, f"cannot be read: {error}", remedy, line)
        return False
    inputs = inputs_of(sheet)
    good = True
    for atom in atoms(rule):
        latch = sheet.latches.get(atom.subject)
        if latch is not None and not latch.sets:
            remedy = "Give it `set when` and `clear when`, or name what the relay feeds."
            findings.add(
                dotted(*path), atom.subject, "is held by a relay: no controller knows it", remedy, line
            )
            good = False
            continue
        if atom.subject in inputs:
            meanings: tuple[str, ...] = inputs[atom.subject]
        elif atom.subject in sheet.controls:
            meanings = sheet.controls[atom.subject].positions
        else:
            known = [*inputs, *sheet.controls]
            findings.add(
                dotted(*path),
                atom.subject,
                "is neither an input nor a control",
                nearest(atom.subject, known) or "Declare it under `controls`.",
                line,
            )
            good = False
            continue
        if atom.meaning not in meanings:
            remedy = nearest(atom.meaning, meanings) or f"Give {atom.subject} its bands."
            findings.add(dotted(*path), atom.meaning, f"is not something {atom.subject} can be", remedy, line)
            good = False
    return good


def is_guard(part: Part, control: str) -> bool:
    """Whether a contact keeps people safe by a control: as the sheet says, else by the control's name."""
    said = part.texts.get(GUARD, "")
    return said == "yes" or (
        said != "no" and guards_by_name(control, part.closed.get(control, ()), part.name)
    )


def guards_by_name(control: str, closed: Collection[str], name: str) -> bool:
    """Whether a switch of that name, closed in these positions of a control, guards where nothing is said.

    A ``lever up switch`` guards nobody, unless its sheet says that it is closed in neutral.
    """
    habit = switch_habit(name)
    if habit.moved and habit.control == control and "neutral" not in closed:
        return False
    return control in GUARD_CONTROLS and COMMANDS.get(control, frozenset()).isdisjoint(closed)


def _implied_guard(load: str, sheet: Sheet) -> str:
    """Guard switches on the way to a load, also those that hold the coil of a relay on that way."""
    words: list[str] = []
    open_ends, seen = [load], {load}
    while open_ends:
        part = open_ends.pop()
        for run in sheet.runs.values():
            if not any(i.part == part and i.role == "part" and not _is_contact(i, sheet) for i in run.items):
                continue
            for item in run.items:
                owner = sheet.parts.get(item.part)
                if owner is not None and _is_operated(owner) and not item.leave.endswith(".NC"):
                    words += _guard_words(owner, sheet)
                elif _is_contact(item, sheet) and item.part not in seen:
                    seen.add(item.part)
                    open_ends.append(item.part)
    return " and ".join(dict.fromkeys(words))


def _is_operated(part: Part) -> bool:
    return registry().by_name[part.kind].operated


def _is_contact(item: Item, sheet: Sheet) -> bool:
    part = sheet.parts.get(item.part)
    return part is not None and part.kind == "relay" and not item.enter.endswith((".86", ".85"))


def _guard_words(part: Part, sheet: Sheet) -> list[str]:
    words: list[str] = []
    for control, positions in part.closed.items():
        if is_guard(part, control) and control in sheet.controls:
            either = " or ".join(
                f"{control} is {p}" for p in sheet.controls[control].positions if p in positions
            )
            words.append(f"({either})" if " or " in either else either)
    return words

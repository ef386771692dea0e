"""Latches: what a machine remembers, such as an operate button that arms it until a guard opens.

A latch is set while its set rule is true, stays set when that ends, and is cleared while its clear
rule is true or its controller has no power; clearing wins. The circuit itself has no history, so
each setup carries one word of it, typed like an operator state: ``armed set`` means that it was
set just before, ``armed clear`` (taken when nothing is said) that it was not.

What ``armed set`` stands for is *done*, not assumed: the circuit is first solved as it was while the
operator set the latch (`Latch.by`, with the guards shut), with the same fault, and goes on from there.
A button that does not make contact thus arms nothing, whatever is typed.
"""

from __future__ import annotations

from dataclasses import replace

from backprobe.sheet.document import Mapping, Node, Scalar, Sequence
from backprobe.sheet.document import field as dotted
from backprobe.sheet.findings import Findings, nearest
from backprobe.sheet.functions import check_rule
from backprobe.sheet.logic import conjuncts, parse_rule
from backprobe.sheet.model import Control, Latch, Sheet, State
from backprobe.sheet.parts import find_state

FIELDS = ("set when", "clear when", "set by")
CLEAR, SET = "clear", "set"
EXAMPLE = "{set when: operate button is pressed and seat input is seated, clear when: seat input is empty}"


def with_latches(document: Mapping, sheet: Sheet, findings: Findings) -> Sheet:
    """The sheet with its latches, each also as something that a setup says: ``armed set``."""
    node = document.get("latches")
    if node is None:
        return sheet
    if not isinstance(node, Mapping):
        findings.add("latches", "", "is not a set of names", f"Write armed: {EXAMPLE}.", node.line)
        return sheet
    entries = {" ".join(key.text.split()): (key.line, entry) for key, entry in node.entries}
    for name, (line, _) in entries.items():
        if name in sheet.controls:
            remedy = "Give the latch a name of its own, such as armed."
            findings.add(dotted("latches", name), name, "is a control already", remedy, line)
    controls = dict(sheet.controls) | {
        name: Control(name, (CLEAR, SET), line, remembered=True)
        for name, (line, _) in entries.items()
        if name not in sheet.controls
    }
    # A latch may be set by another: all names are known before the rules are read.
    drafts = {n: Latch(n, _text(entry, "set when"), line=line) for n, (line, entry) in entries.items()}
    known = replace(sheet, controls=controls, latches=drafts)
    return replace(
        known, latches={n: _latch(n, line, entry, known, findings) for n, (line, entry) in entries.items()}
    )


def _latch(name: str, line: int, node: Node, sheet: Sheet, findings: Findings) -> Latch:
    where = dotted("latches", name)
    if not isinstance(node, Mapping):
        findings.add(where, "", "is not a set of fields", f"Write {EXAMPLE}.", line)
        return Latch(name, line=line)
    before = len(findings.problems)
    rules: dict[str, str] = {}
    by: tuple[State, ...] = ()
    for key, entry in node.entries:
        path = ("latches", name, key.text)
        if key.text not in FIELDS:
            remedy = nearest(key.text, FIELDS)
            findings.add(dotted(*path), key.text, "is not a field of a latch", remedy, key.line)
        elif key.text == "set by":
            items = entry.items if isinstance(entry, Sequence) else (entry,)
            by = tuple(s for i in items if (s := _done(i, path, sheet, findings)) is not None)
        elif not isinstance(entry, Scalar):
            findings.add(dotted(*path), "", "is not a rule", "Write: operate button is pressed.", key.line)
        elif check_rule(entry.text, path, entry.line, sheet, findings):
            rules[key.text] = entry.text
    sets, clears = rules.get("set when", ""), rules.get("clear when", "")
    if len(findings.problems) > before:
        return Latch(name, sets, clears, by, line)
    if sets and not by:
        asked = conjuncts(parse_rule(sets))
        by = tuple(State(a.subject, a.meaning) for a in asked if _is_moved(a.subject, sheet))
    if not by:
        remedy = "Add such as `set by: operate button pressed`."
        findings.add(where, name, "does not say what the operator does to set it", remedy, line)
    elif bool(sets) != bool(clears):
        missing = "set when" if clears else "clear when"
        remedy = f"Add `{missing}:` and a rule; leave out both where a relay holds itself in."
        findings.add(where, name, f"has no rule `{missing}`", remedy, line)
    return Latch(name, sets, clears, by, line)


def _text(node: Node, key: str) -> str:
    found = node.get(key) if isinstance(node, Mapping) else None
    return found.text if isinstance(found, Scalar) else ""


def _is_moved(subject: str, sheet: Sheet) -> bool:
    return subject in sheet.controls and not sheet.controls[subject].remembered


def _done(node: Node, path: tuple[str, ...], sheet: Sheet, findings: Findings) -> State | None:
    text = node.text if isinstance(node, Scalar) else ""
    moved = {n: c for n, c in sheet.controls.items() if not c.remembered}
    state = find_state(text, moved)
    if state is None:
        known = [f"{c.name} {p}" for c in moved.values() for p in c.positions]
        remedy = nearest(text, known) or "Declare its control under `controls`."
        findings.add(dotted(*path), text, "is not an operator state", remedy, node.line)
    return state

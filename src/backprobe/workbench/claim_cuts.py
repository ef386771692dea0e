"""Wires that somebody would cut, as the meanings of a claim."""

from __future__ import annotations

import re

from backprobe.errors import Problem
from backprobe.sheet.run_text import canonical_cavity
from backprobe.workbench.claim import Cure, Guarded
from backprobe.workbench.claim_names import absent, meant, not_fitted, plain
from backprobe.workbench.claims import ClaimError

COLOURS = {
    "black": "BK",
    "brown": "BN",
    "red": "RD",
    "orange": "OG",
    "yellow": "YE",
    "green": "GN",
    "blue": "BU",
    "violet": "VT",
    "purple": "VT",
    "grey": "GY",
    "gray": "GY",
    "white": "WH",
    "pink": "PK",
    "turquoise": "TQ",
}
"""Colours as spoken, with their letter code of IEC 60757."""
_CUT = re.compile(
    r"^(?:cut|snip|sever|clip|chop|lop)\s+(?:off\s+|through\s+)?(?P<what>.+?)(?:\s+(?:off|through))?$", re.I
)
_WIRE = re.compile(r"\b(?:wires?|leads?|cables?|loom)\b", re.I)
_AT = re.compile(r"^(?:to|at|from|of|on|off|behind|beside)\s+", re.I)
NEW_FAULT = (
    "A cut wire is one more fault for whoever comes next: splice it again before anything is measured."
)


def read(text: str, guarded: Guarded) -> list[Cure]:
    """Meanings of a claim to cut a wire; none where it is no such claim.

    Raises
    ------
    ClaimError
        Where no wire of the sheet is meant.
    """
    match = _CUT.match(text)
    if match is None:
        return []
    whole = plain(match["what"])
    if whole in guarded.sheet.parts and guarded.sheet.parts[whole].kind == "wire":
        return [_cut(whole, whole, guarded)]
    what = plain(_AT.sub("", " ".join(_WIRE.sub(" ", whole).split())))
    found = {wire: part for part, wire in _meant(what, guarded)}
    if found:
        return [_cut(wire, part, guarded) for wire, part in found.items()]
    if what and absent(f"{what} switch", guarded):
        return [not_fitted(f"{what} wire", guarded)]
    wires = [n for n, p in guarded.sheet.parts.items() if p.kind == "wire"]
    remedy = (
        f"Name it as the sheet does, such as: cut {wires[0]}." if wires else "Name a cavity, such as C2-3."
    )
    message = "is no wire of this sheet" if what or not wires else "may be any wire of this sheet"
    raise ClaimError(Problem("claim", match["what"], message, remedy))


def _meant(what: str, guarded: Guarded) -> list[tuple[str, str]]:
    """What would be cut off, each with its wire: by cavity, colour or part; for no name the guard's."""
    sheet = guarded.sheet
    cavity = canonical_cavity(what)
    if cavity:
        return [(cavity, w) for w in beside(cavity, guarded)]
    code = COLOURS.get(what.lower(), what.upper()) or "none"
    own = [
        n
        for n, p in sheet.parts.items()
        if p.kind == "wire" and p.texts.get("colour", "").split("/")[0] == code
    ]
    parts = list(guarded.parts) if not what else [] if own else meant(what, guarded)
    return [*((w, w) for w in own), *((p, w) for p in parts for w in beside(p, guarded))]


def beside(part: str, guarded: Guarded) -> list[str]:
    """The nearest wire on either side of a part or a cavity, on every run that it is on."""
    found: dict[str, None] = {}
    parts = guarded.sheet.parts
    for run in guarded.sheet.runs.values():
        names = [i.part for i in run.items]
        wires = [k for k, n in enumerate(names) if n in parts and parts[n].kind == "wire"]
        for at in (k for k, n in enumerate(names) if n == part):
            before, after = [k for k in wires if k < at], [k for k in wires if k > at]
            for k in (*before[-1:], *after[:1]):
                found.setdefault(names[k])
    return list(found)


def _cut(wire: str, part: str, guarded: Guarded) -> Cure:
    mode = next(m for m in guarded.circuit.modes if m.name == f"{wire}: broken")
    values = tuple((key, grid[-1]) for key, grid in mode.changes.items())
    touches = (part,) if part != wire else _ends(wire, guarded)
    return Cure(f"{wire} cut", "cut", values=values, touches=touches, minds=(NEW_FAULT,))


def _ends(wire: str, guarded: Guarded) -> tuple[str, ...]:
    """Cavities next to a wire."""
    found: dict[str, None] = {}
    for run in guarded.sheet.runs.values():
        names = [i.part for i in run.items]
        for at in (k for k, n in enumerate(names) if n == wire):
            near = run.items[max(0, at - 1) : at + 2]
            found |= dict.fromkeys(i.part for i in near if i.role == "cavity")
    return tuple(found)

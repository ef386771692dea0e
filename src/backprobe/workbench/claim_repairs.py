"""Repairs and parts as the meanings of a claim: swapped, cleaned, aligned, a bigger fuse."""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches

from backprobe.circuit.compiled import Circuit
from backprobe.errors import Problem
from backprobe.readings.points import find_part
from backprobe.sheet.anatomy import Mode
from backprobe.sheet.findings import nearest
from backprobe.sheet.kinds.fuse import MELTS_AT
from backprobe.sheet.model import Part
from backprobe.units import format_quantity
from backprobe.workbench.claim import Cure, Guarded
from backprobe.workbench.claims import ClaimError
from backprobe.workbench.trial_limits import wire_amps

SIZES = (1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0)
"""Ratings of blade fuses [A]; common practice, no source."""
BLOWN = "A fuse blows for a cause: find it, then fit the rating of the sheet and no greater."
FACE = ("gap too wide", "target missing", "target out of line")
"""Faults before the face of a sensor, which a new sensor does not mend."""
KEEPER = "keeper"
CLEANED = frozenset({"contact"})
"""Families that cleaning mends."""
NEARLY = 0.8
"""Likeness of two names from which one is a slip of writing for the other [1]."""
NOT_HELD = re.compile(
    r"\b(?:switch|sensor|relay|lamp|fuse|coil|valve|button|contact|diode|module|box|lock)\b", re.I
)
_SWAP = re.compile(
    r"^(?:swap|replac(?:e|ing)|chang(?:e|ing)|renew|exchange|fit(?: an?)? new|buy(?: an?)? new|new|bad|"
    r"faulty|repair|mend)\s+(?:out\s+)?(?:an?\s+|the\s+)?(?P<part>.+?)(?:\s+(?:for|with|by)\s+(?P<new>.+))?$",
    re.I,
)
_CLEAN = re.compile(
    r"^(?P<verb>(?:clean|re-?align|align|adjust|set|straighten|tighten|reseat|spray|dry)(?:ing)?"
    r"(?:\s+(?:and|then)\s+(?:re-?)?(?:align|clean|adjust|tighten|set|dry)(?:ing)?)*)\s+(?:up\s+)?"
    r"(?:the\s+)?(?P<what>.+)$",
    re.I,
)
_KEEPER = re.compile(r"^(?:take|remove|peel|pull)\b.*\b(?:keeper|shipping metal)\b", re.I)
_KEEPER_ON = re.compile(
    r"[,\s]*(?:and\s+)?(?:its\s+|the\s+)?(?:shipping\s+)?keeper\s+(?:left\s+|still\s+)?on\b", re.I
)
_BARE = re.compile(
    r"^(?:the\s+)?(?P<part>[\w ./-]+?)(?:\s+(?:is|are)\s+(?:bad|faulty|broken|gone|shot|dead))?$", re.I
)


def read(text: str, guarded: Guarded) -> list[Cure]:
    """Meanings of a claim to mend or swap something; none where it is no such claim."""
    modes = guarded.circuit.modes
    if _KEEPER.match(text):
        return _mends("shipping keeper taken off", (m for m in modes if KEEPER in m.mode))
    if clean := _CLEAN.match(text):
        return _cleaned(clean["what"].strip(), text, guarded)
    if swap := _SWAP.match(text):
        return _swapped(swap["part"].strip(), swap["new"] or "", guarded)
    return []


def read_bare(text: str, guarded: Guarded) -> list[Cure]:
    """Meanings of a claim that only names what is to blame, such as ``the seat switch``."""
    bare = _BARE.match(text)
    part = find_part(bare["part"], guarded.sheet) if bare else None
    if part:
        return _swapped(part, "", guarded)
    return [_not_fitted(bare["part"])] if bare and _unheld(bare["part"], guarded) else []


def bigger_fuses(guarded: Guarded, which: str, amps: float | None) -> list[Cure]:
    """A fuse of a greater rating in each holder that may be meant, or one of a named rating."""
    found = []
    for part in guarded.sheet.parts.values():
        if part.kind != "fuse" or which not in {"", part.name}:
            continue
        rating = part.values["rating"].nominal
        new = amps or next((s for s in SIZES if s > 1.01 * rating), 2 * rating)
        key = f"{part.name}.melting amps"
        weak = _weakest(guarded, part.name, rating)
        warns: tuple[str, ...] = ()
        if weak is not None and new > wire_amps(weak):
            assumed = ", its size assumed" if weak.values["size"].origin.kind == "default" else ""
            warns = (
                f"{format_quantity(new, 'A')} no longer guards {weak.name}, which carries "
                f"{format_quantity(wire_amps(weak), 'A')}{assumed}: a short behind it burns the wire before "
                "the fuse opens",
            )
        words = f"{part.name} {format_quantity(new, 'A')} in place of {format_quantity(rating, 'A')}"
        found.append(
            Cure(
                words,
                "fuse",
                values=((key, MELTS_AT * new),),
                warns=warns,
                minds=(BLOWN,),
                touches=(part.name,),
            )
        )
    if not found:
        raise ClaimError(
            Problem("claim", which or "fuse", "is no fuse of this sheet", "Name a fuse that is in a run.")
        )
    return found


def _weakest(guarded: Guarded, fuse: str, rating: float) -> Part | None:
    """The wire behind a fuse, on its own runs, that carries least of those which the fuse guards now."""
    behind: set[str] = set()
    for run in guarded.sheet.runs.values():
        places = [k for k, item in enumerate(run.items) if item.part == fuse]
        behind |= {i.part for i in run.items[places[0] :]} if places else set()
    parts = guarded.sheet.parts
    wires = [p for n, p in parts.items() if n in behind and p.kind == "wire" and wire_amps(p) >= rating]
    return min(wires, key=wire_amps, default=None)


def _mends(words: str, modes: Iterable[Mode], *touches: str) -> list[Cure]:
    names = frozenset(m.name for m in modes)
    return [Cure(words, "repair", repairs=names, touches=touches)] if names else []


def _cleaned(what: str, text: str, guarded: Guarded) -> list[Cure]:
    modes = guarded.circuit.modes
    if re.search(r"\b(?:target|magnet|gap|bushings?|bracket|sensor face)\b", what, re.I):
        before = [m for m in modes if m.mode.startswith(FACE[0]) or m.mode.startswith(FACE[2])]
        if found := _mends("target cleaned and set before its sensor", before):
            return found
        return [_not_fitted("a target")]
    if re.fullmatch(r"(?:grounds?|earths?|all (?:the )?grounds?)", what, re.I):
        straps = [m for m in modes if _kind(guarded, m) in {"ring", "strap"}]
        return _mends("grounds cleaned and tightened", straps)
    if re.fullmatch(r"(?:all (?:the )?)?(?:plugs|connectors|contacts|pins|terminals)", what, re.I):
        joints = [m for m in modes if m.family in CLEANED and _kind(guarded, m) in {"contact", ""}]
        return _mends("plugs opened, dried and cleaned", joints)
    plug = what.upper()
    if plug in guarded.sheet.connectors:
        own = {plug, *guarded.sheet.connectors[plug].cavities}
        joints = [m for m in modes if m.part in own and m.family in CLEANED]
        return _mends(f"{plug} opened, dried and cleaned", joints, plug)
    part = find_part(what, guarded.sheet)
    if part is None:
        return [_missing(what, text, guarded)]
    own_modes = [m for m in modes if m.part == part and (m.family in {"contact", "copper"} or m.is_wear)]
    return _mends(f"{part} cleaned and tightened", own_modes, part)


def _kind(guarded: Guarded, mode: Mode) -> str:
    part = guarded.sheet.parts.get(mode.part)
    return part.kind if part else ""


def _swapped(what: str, new: str, guarded: Guarded) -> list[Cure]:
    what = re.sub(r"^the\s+", "", what, flags=re.I)
    keeper_on = bool(_KEEPER_ON.search(f"{what} {new}"))
    what = _KEEPER_ON.sub("", what).strip()
    parts = _meant(what, guarded)
    if not parts:
        return [_missing(what, f"swap {what}", guarded)]
    other = bool(
        re.search(r"\b(?:type|family|other|another|different|npn|pnp|push|universal|generic)\b", new, re.I)
    )
    if other and not keeper_on:
        return [c for p in parts for c in _other_types(p, guarded.circuit, new)]
    return [c for p in parts for c in _new_one(p, guarded, keeper_on=keeper_on)]


def _meant(what: str, guarded: Guarded) -> list[str]:
    """Parts that a word may mean: one by its name, guard parts by ``sensor`` or ``switch``."""
    part = find_part(what, guarded.sheet)
    if part:
        return [part]
    word = what.lower()
    if word in {"sensor", "switch", "it", "presence sensor"}:
        kind = "" if word == "it" else word.split()[-1]
        return [p for p in guarded.parts if kind in guarded.sheet.parts[p].kind]
    if word in {"controller", "computer", "control unit", "ecu", "module", "box", "brain"}:
        return [p.name for p in guarded.sheet.parts.values() if p.kind == "controller"]
    if word.upper() in guarded.sheet.connectors:
        return list(guarded.sheet.connectors[word.upper()].cavities)
    return []


def _new_one(part: str, guarded: Guarded, *, keeper_on: bool = False) -> list[Cure]:
    own = [m for m in guarded.circuit.modes if m.part == part]
    keeper = next((m.name for m in own if KEEPER in m.mode), "")
    mended = frozenset(m.name for m in own if not m.mode.startswith(FACE))
    if keeper_on and keeper:
        words = f"{part} swapped, the new one with its shipping keeper on"
        return [Cure(words, "fit", repairs=mended, fitted=keeper, touches=(part,))]
    minds = (
        (f"Take the metal keeper off the face of the new {part}: with it on it sees nothing.",)
        if keeper
        else ()
    )
    words = f"{part} swapped for a new one of its type"
    return [Cure(words, "repair", repairs=mended, touches=(part,), minds=minds)] if mended else []


def _other_types(part: str, circuit: Circuit, new: str) -> list[Cure]:
    """Every other type that the catalogue knows of for this part."""
    own = [m for m in circuit.modes if m.part == part]
    types = [m for m in own if "fitted" in m.mode]
    said = [
        m
        for m in types
        if any(w in m.mode.lower() for w in re.findall(r"npn|pnp|push-pull|higher|slope", new.lower()))
    ]
    mended = frozenset(m.name for m in own if not m.mode.startswith(FACE))
    return [
        Cure(f"{part}: {m.mode}", "fit", repairs=mended, fitted=m.name, touches=(part,))
        for m in said or types
    ]


def _unheld(what: str, guarded: Guarded) -> bool:
    """Whether this names a kind of part, and nothing on the sheet is called nearly so."""
    known = [n.lower() for n in guarded.sheet.parts]
    return bool(NOT_HELD.search(what)) and not get_close_matches(what.lower(), known, 1, NEARLY)


def _missing(what: str, text: str, guarded: Guarded) -> Cure:
    """What this build has not got; raises ClaimError for what is more likely a slip of writing."""
    if _unheld(what, guarded):
        return _not_fitted(what)
    known = [p.name for p in guarded.sheet.parts.values() if not p.implied]
    raise ClaimError(Problem("claim", what, "is not a part of this sheet", nearest(what, known)))


def _not_fitted(what: str) -> Cure:
    return Cure(f"{what}: not fitted on this build", "not fitted")

"""Repairs and parts as the meanings of a claim: swapped, cleaned, aligned, a bigger fuse."""

from __future__ import annotations

import re
from collections.abc import Iterable

from backprobe.circuit.compiled import Circuit
from backprobe.errors import Problem
from backprobe.readings.line_names import FUSES
from backprobe.readings.points import find_part
from backprobe.sheet.anatomy import Mode
from backprobe.sheet.kinds.fuse import MELTS_AT
from backprobe.sheet.model import Part
from backprobe.units import format_quantity
from backprobe.workbench.claim import Cure, Guarded
from backprobe.workbench.claim_names import HELD, absent, meant, missing, not_fitted, plain, plug_of
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
LAST = (
    "A controller comes last: first prove its feed and ground under load, and its inputs and its output with "
    "the plug on.",
)
ALIKE = (
    "Only for one with the same pins and the same coil. Changed over with its neighbour it is a check: a bad "
    "relay takes its fault along.",
)
_SWAP = re.compile(
    r"^(?:swap|replac(?:e|ing)|chang(?:e|ing)|renew|exchange|fit(?: an?)? new|buy(?: an?)? new|new|bad|"
    r"an? new|get(?: an?)? new|faulty|repair|mend)\s+(?:out\s+)?(?:an?\s+|the\s+)?(?P<part>.+?)"
    r"(?:\s+(?:for|with|by)\s+(?P<new>.+))?$",
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
    r"^(?:(?:the|an?)\s+)?(?P<part>[\w ./-]+?)(?:\s+(?:is|are)\s+(?:bad|faulty|broken|gone|shot|dead))?$",
    re.I,
)


def read(text: str, guarded: Guarded) -> list[Cure]:
    """Meanings of a claim to mend or swap something; none where it is no such claim."""
    modes = guarded.circuit.modes
    if _KEEPER.match(text):
        off = _mends("shipping keeper taken off", (m for m in modes if KEEPER in m.mode))
        return off or [not_fitted("a sensor with a shipping keeper", guarded)]
    if clean := _CLEAN.match(text):
        return _cleaned(plain(clean["what"]), guarded)
    if swap := _SWAP.match(text):
        return _swapped(swap["part"].strip(), swap["new"] or "", guarded)
    return []


def read_bare(text: str, guarded: Guarded) -> list[Cure]:
    """Meanings of a claim that only names what is to blame, such as ``the seat switch``."""
    bare = _BARE.match(text)
    part = find_part(bare["part"], guarded.sheet) if bare else None
    if part:
        return _swapped(part, "", guarded)
    if bare and HELD.search(bare["part"]) and (meant(bare["part"], guarded) or absent(bare["part"], guarded)):
        return _swapped(bare["part"], "", guarded)
    return []


def bigger_fuses(guarded: Guarded, which: str, amps: float | None) -> list[Cure]:
    """A fuse of a greater rating in each holder that may be meant, or one of a named rating."""
    found = []
    for part in guarded.sheet.parts.values():
        if part.kind != "fuse" or which not in {"", part.name}:
            continue
        rating = part.values["rating"].nominal
        new = amps or next((s for s in SIZES if s > 1.01 * rating), 2 * rating)
        key = f"{part.name}.melting amps"
        warns = unguarded(guarded, part.name, new)
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
    if not found and not which:
        return [not_fitted("fuse", guarded)]
    if not found:
        raise ClaimError(Problem("claim", which, "is no fuse of this sheet", "Name a fuse that is in a run."))
    return found


def unguarded(guarded: Guarded, fuse: str, amps: float | None) -> tuple[str, ...]:
    """What is said of a wire that a fuse of greater rating [A], or a bridged one (None), no longer guards."""
    rated = guarded.sheet.parts[fuse].values.get("rating")
    weak = _weakest(guarded, fuse, rated.nominal if rated else 0.0)
    if amps is None:
        named = (
            f" {weak.name}, which carries {format_quantity(wire_amps(weak), 'A')}" if weak else " the wires"
        )
        return (f"with {fuse} bridged nothing guards{named}: a short behind it burns the wire",)
    if weak is None or amps <= wire_amps(weak):
        if rated is None or amps <= rated.nominal:
            return ()
        # A wire that may carry it is not all that the fuse is there for.
        return (
            f"{format_quantity(amps, 'A')} guards what is behind {fuse} less than the "
            f"{format_quantity(rated.nominal, 'A')} that it is made for: a short there heats it for longer",
        )
    assumed = ", its size assumed" if weak.values["size"].origin.kind == "default" else ""
    return (
        f"{format_quantity(amps, 'A')} no longer guards {weak.name}, which carries "
        f"{format_quantity(wire_amps(weak), 'A')}{assumed}: a short behind it burns the wire before "
        "the fuse opens",
    )


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


def _cleaned(what: str, guarded: Guarded) -> list[Cure]:
    modes = guarded.circuit.modes
    if re.search(r"\b(?:target|magnet|gap|bushings?|bracket|sensor face)\b", what, re.I):
        before = [m for m in modes if m.mode.startswith(FACE[0]) or m.mode.startswith(FACE[2])]
        return _mends("target cleaned and set before its sensor", before) or [not_fitted("a target", guarded)]
    if re.fullmatch(r"(?:grounds?|earths?|all (?:the )?grounds?)(?: points?| lugs?| straps?)?", what, re.I):
        straps = [m for m in modes if _kind(guarded, m) in {"ring", "strap"}]
        return _mends("grounds cleaned and tightened", straps) or [not_fitted("ground lug or strap", guarded)]
    if re.fullmatch(
        r"(?:all (?:the )?)?(?:plugs|connectors|contacts|pins|terminals|connections)", what, re.I
    ):
        joints = [m for m in modes if m.family in CLEANED and _kind(guarded, m) in {"contact", ""}]
        return _mends("plugs opened, dried and cleaned", joints)
    if re.fullmatch(r"(?:plug|connector|connection)", what, re.I):
        return _plugs_cleaned(guarded, guarded.plugs)
    if re.fullmatch(r"it|them|there", what, re.I):
        found = _plugs_cleaned(guarded, guarded.plugs) if guarded.plugs else []
        found += [c for p in guarded.parts for c in _part_cleaned(p, guarded)]
        if found:
            return found
        part = next(iter(guarded.sheet.parts))
        raise ClaimError(Problem("claim", what, "may be anything here", f"Name it, such as: clean {part}."))
    plug = plug_of(what, guarded)
    return _plugs_cleaned(guarded, (plug,)) if plug else _parts_cleaned(what, guarded)


def _parts_cleaned(what: str, guarded: Guarded) -> list[Cure]:
    """Each part that a word may mean cleaned; raises ClaimError where cleaning mends nothing."""
    name = re.sub(
        r"(?<=\w)\s+(?:terminals?|posts?|clamps?|lugs?|poles?|contacts?|points?)$", "", what, flags=re.I
    )
    parts = meant(what, guarded) or meant(name, guarded)
    if not parts:
        return [missing(what, guarded)]
    if found := [c for p in parts for c in _part_cleaned(p, guarded)]:
        return found
    message, remedy = (
        "has nothing on this sheet that cleaning mends",
        "Clean its plug, such as: clean the plug.",
    )
    raise ClaimError(Problem("claim", what, message, remedy))


def _plugs_cleaned(guarded: Guarded, plugs: Iterable[str]) -> list[Cure]:
    """Each plug cleaned; raises ClaimError where there is none."""
    found = []
    for plug in plugs:
        own = {plug, *guarded.sheet.connectors[plug].cavities}
        joints = [m for m in guarded.circuit.modes if m.part in own and m.family in CLEANED]
        found += _mends(f"{plug} opened, dried and cleaned", joints, plug)
    if found:
        return found
    part = next(iter(guarded.parts), next(iter(guarded.sheet.parts)))
    raise ClaimError(
        Problem("claim", "plug", "is none on this sheet", f"Name a part, such as: clean {part}.")
    )


def _part_cleaned(part: str, guarded: Guarded) -> list[Cure]:
    own = [
        m
        for m in guarded.circuit.modes
        if m.part == part and (m.family in {"contact", "copper"} or m.is_wear)
    ]
    return _mends(f"{part} cleaned and tightened", own, part)


def _kind(guarded: Guarded, mode: Mode) -> str:
    part = guarded.sheet.parts.get(mode.part)
    return part.kind if part else ""


def _swapped(what: str, new: str, guarded: Guarded) -> list[Cure]:
    what = plain(what)
    keeper_on = bool(_KEEPER_ON.search(f"{what} {new}"))
    what = _KEEPER_ON.sub("", what).strip()
    if re.fullmatch(r"(?:whole\s+)?(?:wiring|wires|loom|harness)(?:\s+(?:loom|harness))?", what, re.I):
        wires = [m for m in guarded.circuit.modes if _kind(guarded, m) == "wire"]
        return _mends("all wires of the sheet renewed", wires) or [not_fitted(what, guarded)]
    parts = _meant(what, guarded)
    if not parts:
        return [missing(what, guarded)]
    other = bool(
        re.search(r"\b(?:type|family|other|another|different|npn|pnp|push|universal|generic)\b", new, re.I)
    )
    if other and not keeper_on:
        return [c for p in parts for c in _other_types(p, guarded.circuit, new)]
    return [c for p in parts for c in _new_one(p, guarded, keeper_on=keeper_on)]


def _meant(what: str, guarded: Guarded) -> list[str]:
    """Parts that a word may mean, or the cavities of a plug."""
    if parts := meant(what, guarded):
        return parts
    plugs = guarded.plugs if re.fullmatch(r"plugs?|connectors?", what, re.I) else (plug_of(what, guarded),)
    return [c for p in plugs if p for c in guarded.sheet.connectors[p].cavities]


def _new_one(part: str, guarded: Guarded, *, keeper_on: bool = False) -> list[Cure]:
    own = [m for m in guarded.circuit.modes if m.part == part]
    keeper = next((m.name for m in own if KEEPER in m.mode), "")
    mended = frozenset(m.name for m in own if not m.mode.startswith(FACE))
    if keeper_on and keeper:
        words = f"{part} swapped, the new one with its shipping keeper on"
        return [Cure(words, "fit", repairs=mended, fitted=keeper, touches=(part,))]
    minds: tuple[str, ...] = (
        (f"Take the metal keeper off the face of the new {part}: with it on it sees nothing.",)
        if keeper
        else ()
    )
    kind = guarded.sheet.parts[part].kind
    minds += LAST if kind == "controller" else ALIKE if kind == "relay" else (BLOWN,) if kind in FUSES else ()
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

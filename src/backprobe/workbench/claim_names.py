"""Parts as people call them: by kind, by what moves them, or by a name that this build has not got."""

from __future__ import annotations

import re
from difflib import get_close_matches

from backprobe.errors import Problem
from backprobe.readings.points import find_part
from backprobe.sheet.findings import nearest
from backprobe.workbench.claim import Cure, Guarded
from backprobe.workbench.claims import ClaimError
from backprobe.workbench.switched import loose_relays

NEARLY = 0.8
"""Likeness of two names from which one is a slip of writing for the other [1]."""
CONTROLLER = frozenset(
    {
        "controller",
        "computer",
        "control unit",
        "control box",
        "ecu",
        "ecm",
        "module",
        "box",
        "black box",
        "brain",
    }
)
KINDS = {
    "relay": ("relay",),
    "fuse": ("fuse", "fusible link", "circuit breaker"),
    "breaker": ("circuit breaker",),
    "solenoid": ("coil",),
    "coil": ("coil",),
    "valve": ("coil",),
    "lamp": ("lamp", "LED indicator"),
    "bulb": ("lamp",),
    "diode": ("diode",),
    "splice": ("splice",),
    "strap": ("strap",),
    "resistor": ("resistor",),
    "wiring": ("wire",),
    "wire": ("wire",),
    "loom": ("wire",),
    "harness": ("wire",),
    "alternator": ("alternator",),
    "battery": ("battery",),
    "terminator": ("terminator",),
}
"""What a word of the yard calls, as kinds of parts; common practice, no source."""
SENSORS = frozenset({"sensor", "presence sensor", "safety sensor", "prox", "proximity switch"})
SWITCHES = frozenset(
    {"switch", "safety switch", "guard switch", "interlock", "interlock switch", "micro switch"}
)
SWITCHED = re.compile(
    r"\b(?:start(?:er|er motor)?|motors?|engine|clutch(?:es)?|blades?|pump|fan|winch|horn|beacon|"
    r"glow ?plugs?|injectors?|fuel (?:pump|solenoid|valve))$"
)
"""What a relay switches on a machine, as people call it; common practice, no source."""
HELD = re.compile(
    r"\b(?:switch|sensor|relay|lamp|fuse|coil|valve|button|contact|diode|module|box|lock|controller|computer|"
    r"ecu|solenoid|alternator|battery|resistor|breaker|prox)(?:e?s)?\b",
    re.I,
)
"""Words by which something is a kind of part."""
TRADE = re.compile(
    r"seat|gate|door|bar|brake|pedal|lever|neutral|clutch|pto|hood|cover|key|boom|outriggers?|belt|lap|parking|"
    r"park|foot|hand|start|starter|stop|guard|blades?|deck|reverse|ignition|tilt|transmission|main|pump|fuel|work|"
    r"warning|high|low|left|right|front|rear|upper|lower|bucket|drum|safety|lift|drive|arms?|boom|crank"
)
"""Words of the trade that stand before a kind of part: none is a slip of writing for another."""


def plain(name: str) -> str:
    """A name without its article and the word that it is all of them."""
    article = r"^(?:all\s+(?:of\s+)?)?(?:(?:the|an?|that|this|your|my|its)\s+)?"
    return re.sub(article, "", name.strip(), flags=re.I)


def meant(word: str, guarded: Guarded) -> list[str]:
    """Parts that a word may mean, in the order of the sheet; none for what the sheet has not.

    A name means its part; ``relays`` every relay; ``it``, ``sensor`` and ``switch`` the parts that tell where
    people are; ``gate`` what the gate moves. A sensor is often called a switch, and the other way round.
    """
    sheet, name = guarded.sheet, plain(word)
    part = find_part(name, sheet)
    if part:
        return [part]
    low = name.lower()
    one = low.removesuffix("s") if not low.endswith("ss") else low
    if low in {"it", "them"}:
        return list(guarded.parts)
    if one in SENSORS | SWITCHES:
        called = [p for p in guarded.parts if one.split()[-1] in sheet.parts[p].kind]
        return called or list(guarded.parts)
    if one in CONTROLLER:
        return [p.name for p in sheet.parts.values() if p.kind == "controller"]
    if one in KINDS:
        return [p.name for p in sheet.parts.values() if p.kind in KINDS[one]]
    return moved(low, guarded) or _only(one, guarded) or _loads(low, guarded)


def called_switch(word: str, part: str, guarded: Guarded) -> str:
    """What is said first of a sensor that was called a switch: it has no contact to bridge; else empty."""
    name = plain(word)
    if name.lower().split()[-1:] != ["switch"] or "sensor" not in guarded.sheet.parts[part].kind:
        return ""
    return f"{part} is a sensor: there is no {name} here"


def _loads(name: str, guarded: Guarded) -> list[str]:
    """The loads of a function that is called so, such as ``starter``."""
    own = {f.name.lower(): f.loads for f in guarded.sheet.functions.values()}
    return [p for p in own.get(name, ()) if p in guarded.sheet.parts]


def _only(name: str, guarded: Guarded) -> list[str]:
    """The only relay or coil of a sheet by what it is called after, such as ``starter relay``."""
    *before, last = name.split() or [""]
    kinds = KINDS.get(last, ())
    if not before or not set(kinds) & {"relay", "coil"} or not all(TRADE.fullmatch(w) for w in before):
        return []
    own = [p.name for p in guarded.sheet.parts.values() if p.kind in kinds]
    return own if len(own) == 1 else []


def moved(word: str, guarded: Guarded) -> list[str]:
    """Guard parts that a control moves, by its name alone or with ``switch`` or ``sensor`` behind it."""
    stem = re.sub(r"\s+(?:safety\s+)?(?:switch|sensor|interlock|lever)(?:e?s)?$", "", word.lower())
    return [p for p, controls in guarded.moved_by.items() if stem in {c.lower() for c in controls}]


def plug_of(word: str, guarded: Guarded) -> str:
    """The plug that a word names, such as ``C2``, ``plug C2`` or ``the C2 plug``; empty for none."""
    name = re.sub(r"\b(?:plug|connector)\b", " ", plain(word), flags=re.I).strip()
    if name.upper() in guarded.sheet.connectors:
        return name.upper()
    if name == plain(word):
        return ""
    # The plug of a part, such as ``seat plug`` or ``plug of the seat switch``.
    parts = meant(re.sub(r"^(?:of|on|at|under)\s+", "", name, flags=re.I), guarded)
    own = [c.name for c in guarded.sheet.connectors.values() if c.part in parts]
    return own[0] if len(own) == 1 else ""


def no_plug(word: str, guarded: Guarded) -> ClaimError | None:
    """What is said of the plug of a part that has none on this sheet; None for anything else."""
    name = re.sub(r"\b(?:plug|connector)\b", " ", plain(word), flags=re.I).strip()
    parts = [] if not name or name == plain(word) else meant(name, guarded)
    if not parts or plug_of(word, guarded):
        return None
    plugs = [c.name for c in guarded.sheet.connectors.values() if c.part in parts]
    if plugs:
        return ClaimError(Problem("claim", word, "may be several plugs", f"Name one: {', '.join(plugs)}."))
    message = f"is no plug of this sheet: {parts[0]} has none drawn"
    return ClaimError(Problem("claim", word, message, f"Say {parts[0]} in place of {word}."))


def absent(what: str, guarded: Guarded) -> bool:
    """Whether this names a kind of part that the sheet has not, rather than a slip of writing."""
    name = plain(what).lower()
    if not name or len(name.split()) > 4:
        return False
    if all(TRADE.fullmatch(w) for w in HELD.sub(" ", name).split()):
        return True
    if not HELD.search(name):
        return False
    known = [n.lower() for n in guarded.sheet.parts]
    return not get_close_matches(name, known, 1, NEARLY)


def missing(what: str, guarded: Guarded) -> Cure:
    """What this build has not got; raises ClaimError for what is more likely a slip of writing."""
    if absent(what, guarded):
        return not_fitted(plain(what), guarded)
    sheet = guarded.sheet
    if re.fullmatch(r"[A-Za-z]+\d+", what.strip()) and sheet.connectors:
        message, remedy = (
            "is neither a plug nor a part of this sheet",
            f"Its plugs: {', '.join(sheet.connectors)}.",
        )
        raise ClaimError(Problem("claim", what, message, remedy))
    known = [p.name for p in sheet.parts.values() if not p.implied]
    raise ClaimError(Problem("claim", what, "is not a part of this sheet", nearest(what, known)))


def not_fitted(what: str, guarded: Guarded) -> Cure:
    """A cure of something that is not there; of what a relay switches and nobody drew, ``behind``.

    Raises
    ------
    ClaimError
        For what lies behind a relay that clicks, or was not listened to: then it may be the cause.
    """
    relays = loose_relays(guarded.sheet)
    if SWITCHED.search(what.lower()) and len(relays) == 1:
        return _behind(what, relays[0], guarded)
    verb = "tells" if len(guarded.parts) == 1 else "tell"
    there = f"here {_listed(guarded.parts)} {verb} whether the guard is shut"
    last = what.rsplit(maxsplit=1)[-1].lower().removesuffix("s")
    minds = (there,) if guarded.parts and last not in {*KINDS, *CONTROLLER} else ()
    return Cure(f"{what}: not fitted on this build", "not fitted", minds=minds)


def _behind(what: str, relay: str, guarded: Guarded) -> Cure:
    clicks = guarded.clicks.get(relay)
    if clicks is False:
        why = f"{relay} does not click, so {what} is not asked yet"
        return Cure(f"{what}: behind {relay}, not drawn here", "behind", minds=(why,))
    message = f"lies behind {relay} and is not drawn on this sheet"
    remedy = f"See first whether {relay} clicks; as long as it does not, {what} is not asked."
    if clicks:
        remedy = f"{relay} clicks: draw the run of its contact up to {what}, then try again."
    raise ClaimError(Problem("claim", what, message, remedy))


def _listed(words: tuple[str, ...]) -> str:
    return "".join(words) if len(words) < 2 else f"{', '.join(words[:-1])} and {words[-1]}"

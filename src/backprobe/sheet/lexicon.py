"""Names the trade uses for switches and points, and what each means when nothing else is said."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class SwitchHabit:
    """The usual control behind a switch of this name, and where its contact is closed."""

    control: str
    positions: tuple[str, ...]
    closed: tuple[str, ...]
    heavy: bool = False
    """Made for the whole current of the machine."""
    known: bool = True
    """Whether the name says it; else it is taken for something that a hand presses."""
    also: str = ""
    """What the same control is often called on a sheet that declares it."""
    moved: bool = False
    """Whether its name says a position out of neutral, so that its contact sets something to work."""
    unsure: bool = False
    """Whether its name may mean something else, so that it is asked about."""


COMMAND_WORDS = frozenset(
    {"raise", "raised", "lower", "lowered", "lift", "lifted", "drop", "up", "down", "drive", "travel"}
    | {"forward", "forwards", "fwd", "reverse", "backward", "backwards", "back", "rev"}
    | {"extend", "extended", "retract", "retracted", "in", "out", "tilt", "dump", "left", "right"}
    | {"engage", "engaged", "work", "on", "moved"}
)
"""Words beside a lever, a pedal or a stick that say where it is when its contact is closed."""
_SAFE_WORDS = re.compile(r"\b(?:safety|guard|lock|dead|presence|enable)\b", re.IGNORECASE)
"""Words beside a lever that itself may keep people safe, so that its contact is asked about."""
_MOVED_BY = ("lever", "joystick", "stick", "pedal")
_MOVED_BY_WORD = re.compile(rf"\b({'|'.join(_MOVED_BY)})\b", re.IGNORECASE)
_EITHER_WAY = frozenset({"on", "left", "right", "back", "work", "moved", "travel"})
"""Words that before the lever say where it stands or what it is for: the left lever, the travel lever."""
_ALIKE = (
    frozenset({"raise", "raised", "lift", "lifted", "up"}),
    frozenset({"lower", "lowered", "drop", "down"}),
    frozenset({"forward", "forwards", "fwd"}),
    frozenset({"reverse", "rev", "backward", "backwards", "back"}),
    frozenset({"extend", "extended", "out"}),
    frozenset({"retract", "retracted", "in"}),
)
CONTACT_WORDS = frozenset({"switch", "button", "contact", "contacts"})
"""What a contact that a hand or a foot moves is called."""

SHORT_SWITCH_WORDS = frozenset({"leg", "legs", "jack", "stand", "ramp", "safety"})
"""Further words that say what moves a switch, too near to others (start, lamp) to tell a slip by."""

_NO_BUTTON = r"^(?!.*\bbutton\b).*"
_HABITS: tuple[tuple[str, SwitchHabit], ...] = (
    # Common practice, no source; every sheet may say otherwise under `controls` and `closed`.
    (r"\bkey\b.*\bstart\b|\bstart tab\b", SwitchHabit("key", ("off", "on", "start"), ("start",))),
    (r"\bkey\b|\bignition\b", SwitchHabit("key", ("off", "on", "start"), ("on", "start"))),
    (r"\bmaster\b", SwitchHabit("master", ("off", "on"), ("on",), heavy=True)),
    (r"\bbelt\b", SwitchHabit("belt", ("open", "fastened"), ("fastened",))),
    (r"\bseat\b", SwitchHabit("seat", ("empty", "seated"), ("seated",))),
    (r"\bgate\b", SwitchHabit("gate", ("open", "shut"), ("shut",))),
    (r"\bdoor\b", SwitchHabit("door", ("open", "shut"), ("shut",))),
    # A thing that opens is called as it was typed: the hood of a mower is no cover.
    *(
        (rf"\b{word}\b", SwitchHabit(word, ("open", "shut"), ("shut",), also=also))
        for word, also in (
            ("hood", "cover"),
            ("cover", ""),
            ("hatch", ""),
            ("lid", "hatch"),
            ("flap", "hatch"),
        )
    ),
    (r"\boutriggers?\b", SwitchHabit("outrigger", ("up", "down"), ("down",))),
    (
        r"\be-?stop\b|\bemergency\b",
        SwitchHabit("emergency stop", ("released", "pressed"), ("released",)),
    ),
    (r"\bbar\b", SwitchHabit("bar", ("up", "down"), ("down",))),
    # A pedal is pressed, a parking brake is set; both may stand on one machine.
    (
        r"\bbrake\b.*\bpedal\b|\bpedal\b.*\bbrake\b|\bfoot ?brake\b",
        SwitchHabit("brake", ("released", "pressed"), ("pressed",)),
    ),
    (
        r"\bpark(?:ing)?\b.*\bbrake\b|\bhand ?brake\b",
        SwitchHabit("parking brake", ("released", "set"), ("set",), also="brake"),
    ),
    (r"\bbrake\b", SwitchHabit("brake", ("released", "set"), ("set",))),
    (r"\bpedal\b", SwitchHabit("pedal", ("neutral", "moved"), ("neutral",))),
    *(
        (
            rf"\b{word}\b.*\bneutral\b|\bneutral\b.*\b{word}\b",
            SwitchHabit(word, ("neutral", "drive"), ("neutral",), also="lever"),
        )
        for word in ("joystick", "stick")
    ),
    (r"\bneutral\b|\blever\b", SwitchHabit("lever", ("neutral", "drive"), ("neutral",))),
    (r"\bclutch\b", SwitchHabit("clutch", ("up", "pressed"), ("pressed",))),
    (r"\bPTO\b|\bblade\b", SwitchHabit("PTO", ("off", "on"), ("off",))),
    (r"\btailgate\b", SwitchHabit("tailgate", ("open", "shut"), ("shut",), also="gate")),
    # What a machine stands on is down for its work and up for the road: it is asked which. A button moves it.
    (_NO_BUTTON + r"\b(?:side|kick) ?stand\b", SwitchHabit("stand", ("down", "up"), ("up",), unsure=True)),
    *(
        (_NO_BUTTON + pattern, SwitchHabit(word, ("up", "down"), ("down",), unsure=True))
        for pattern, word in (
            (r"\blegs?\b", "leg"),
            (r"\bjacks?\b", "jack"),
            (r"\bstabili[sz]ers?\b", "stabiliser"),
            (r"\bstand\b(?![ -]by\b)", "stand"),
            (r"\bsupports?\b", "support"),
        )
    ),
    (_NO_BUTTON + r"\bramps?\b", SwitchHabit("ramp", ("down", "up"), ("up",), unsure=True)),
    # Last, since the word before it mostly says what moves: a seat interlock is a seat's.
    *(
        (rf"{_NO_BUTTON}\b{word}\b", SwitchHabit(word, ("open", "shut"), ("shut",), unsure=True))
        for word in ("guard", "interlock", "safety")
    ),
)

SWITCH_WORDS = frozenset(
    {"key", "ignition", "master", "belt", "seat", "gate", "door", "hood", "cover", "hatch", "lid", "flap"}
    | {"outrigger", "emergency", "bar", "brake", "pedal", "neutral", "lever", "clutch", "PTO", "blade"}
    | {"tailgate", "support", "stabiliser", "interlock", "guard"}
)
"""Words that say what moves a switch, for telling a slip of the finger from another name."""

ALIASES = {
    "key": "key switch",
    "ignition": "key switch",
    "key start": "key start switch",
    "key in start": "key start switch",
    "key only in start": "key start switch",
    "seat": "seat switch",
    "master": "master switch",
    "isolator": "master switch",
    "battery isolator": "master switch",
    "battery switch": "master switch",
    "chassis": "frame",
    "ground": "frame",
    "body": "frame",
    "battery +": "battery+",
    "battery plus": "battery+",
    "battery positive": "battery+",
    "plus": "battery+",
    "battery -": "battery-",
    "battery minus": "battery-",
    "battery negative": "battery-",
    "minus": "battery-",
}
"""Bare words for points and parts; compared in lower case."""

HEAVY_CONTACT = (0.0005, 0.0002, 0.003)
"""Sound contact of a battery isolator, best, low and high [ohm]; common practice, no source."""

DESIGNATION = re.compile(r"^[A-Z]{1,3}\d{1,3}[a-z]?$")
"""A reference designation such as F4, K1 or Y12 (letter codes as in IEC 81346)."""

COLOURS = frozenset(["BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ", "SR", "GD"])
"""Letter codes of IEC 60757."""


def switch_habit(name: str) -> SwitchHabit:
    """The usual control and closed positions for a switch called `name`."""
    for pattern, habit in _HABITS:
        if re.search(pattern, name, re.IGNORECASE):
            if habit.control not in _MOVED_BY:
                return _placed(habit, name) if habit.unsure else habit
            return _moved(name) or replace(habit, unsure=_says_more(name))
    if moved := _moved(name):
        return moved
    control = re.sub(r"\s*\b(switch|button|contacts?)\b\s*", " ", name, flags=re.IGNORECASE).strip() or name
    return SwitchHabit(control, ("released", "pressed"), ("pressed",), known=False)


def _placed(habit: SwitchHabit, name: str) -> SwitchHabit:
    """A habit with the position that the name says: a ``leg up switch`` is closed with the leg up."""
    words = re.findall(r"[a-z]+", name.lower())
    said = tuple(p for p in habit.positions if p in words)
    return replace(habit, closed=said) if len(said) == 1 else habit


def _moved(name: str) -> SwitchHabit | None:
    """The habit of a ``lever raise switch``: closed with the lever there; None where no such word is said."""
    found = _MOVED_BY_WORD.search(name)
    words = re.findall(r"[a-z]+", name.lower())
    if found is None or "neutral" in words:
        return None
    control = found[1].lower()
    place = words.index(control)
    behind = [w for w in words[place + 1 :] if w in COMMAND_WORDS]
    before = [w for w in words[:place] if w in COMMAND_WORDS - _EITHER_WAY]
    said = tuple(dict.fromkeys(behind or before))
    if not said:
        return None
    return SwitchHabit(
        control, ("neutral", *said), said, moved=True, unsure=not behind or bool(_SAFE_WORDS.search(name))
    )


def _says_more(name: str) -> bool:
    """Whether a word stands behind the lever that may be an unknown position: ``lever riase switch``."""
    words = re.findall(r"[a-z]+", name.lower())
    place = next((k for k, word in enumerate(words) if word in _MOVED_BY), len(words))
    return "neutral" not in words and not CONTACT_WORDS.issuperset(words[place + 1 :])


def place_of(word: str, positions: Iterable[str]) -> str:
    """The position that a word of a switch's name means: ``up`` for ``raise``; empty where none does."""
    alike = next((group for group in _ALIKE if word in group), frozenset())
    known = list(positions)
    return word if word in known else next((p for p in known if p.lower() in alike | {word}), "")


def is_contact_name(name: str) -> bool:
    """Whether a name that ends in no kind is a switch's: ``lever contact``, ``lever switch raise``."""
    folded = [w.lower() for w in name.split()]
    place = next((k for k, w in enumerate(folded) if w in CONTACT_WORDS), 0)
    known = {w.lower() for w in SWITCH_WORDS} | set(_MOVED_BY) | SHORT_SWITCH_WORDS
    if not place or known.isdisjoint(folded[:place]):
        return False
    moved = COMMAND_WORDS | {"neutral"} if set(_MOVED_BY) & set(folded) else frozenset({"left", "right"})
    return all(w in moved or w.isdigit() for w in folded[place + 1 :])


def is_colour(word: str) -> bool:
    """Whether a word is an IEC 60757 colour, or two joined by a slash or written together."""
    parts = word.split("/")
    if len(parts) == 1 and len(word) == 4:
        parts = [word[:2], word[2:]]
    return word in COLOURS or (len(parts) == 2 and all(p in COLOURS for p in parts))


def bare(name: str) -> str:
    """A name with folded blanks, an alias replaced by its full name."""
    folded = " ".join(name.split())
    return ALIASES.get(folded.lower(), folded)

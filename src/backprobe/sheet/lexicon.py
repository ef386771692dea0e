"""Names the trade uses for switches and points, and what each means when nothing else is said."""

from __future__ import annotations

import re
from dataclasses import dataclass


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
    (r"\bneutral\b|\blever\b", SwitchHabit("lever", ("neutral", "drive"), ("neutral",))),
    (r"\bclutch\b", SwitchHabit("clutch", ("up", "pressed"), ("pressed",))),
    (r"\bPTO\b|\bblade\b", SwitchHabit("PTO", ("off", "on"), ("off",))),
)

SWITCH_WORDS = frozenset(
    {"key", "ignition", "master", "belt", "seat", "gate", "door", "hood", "cover", "hatch", "lid", "flap"}
    | {"outrigger", "emergency", "bar", "brake", "pedal", "neutral", "lever", "clutch", "PTO", "blade"}
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
            return habit
    control = re.sub(r"\s*\b(switch|button|contacts?)\b\s*", " ", name, flags=re.IGNORECASE).strip() or name
    return SwitchHabit(control, ("released", "pressed"), ("pressed",), known=False)


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

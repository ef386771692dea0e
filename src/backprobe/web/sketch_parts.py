"""What the current may meet next, as buttons: most used first, each with the words it writes into the run."""

from __future__ import annotations

import re
from dataclasses import dataclass

from backprobe.errors import Problem, SheetError, UnitError
from backprobe.report.drawing.colours import PAINT
from backprobe.sheet.kinds import registry
from backprobe.sheet.lexicon import COLOURS, DESIGNATION, SwitchHabit, bare, switch_habit
from backprobe.sheet.run_text import canonical_cavity, read_item
from backprobe.web.texts import N_


@dataclass(frozen=True, slots=True)
class Offer:
    """One button.

    Parameters
    ----------
    word
        What the button sends, and the words that go into the run before a name.
    label
        What it says.
    letter
        Letter of a designation that is counted up (IEC 81346); empty for what is called as spoken.
    """

    word: str
    label: str
    letter: str = ""


FIRST = (
    Offer("fuse", N_("Fuse"), "F"),
    Offer("relay coil", N_("Relay coil"), "K"),
    Offer("coil", N_("Valve coil"), "Y"),
    Offer("clutch coil", N_("Clutch coil (blades, PTO)"), "Y"),
    Offer("lamp", N_("Lamp"), "H"),
)
MORE = (
    Offer("resistor", N_("Resistor"), "R"),
    Offer("diode", N_("Diode"), "V"),
    Offer("LED", N_("LED"), "H"),
    Offer("splice", N_("Splice"), "X"),
    Offer("circuit breaker", N_("Circuit breaker"), "Q"),
    Offer("fusible link", N_("Fusible link"), "F"),
    Offer("ring", N_("Ring lug"), "G"),
    Offer("strap", N_("Strap"), "E"),
    Offer("two-wire sensor", N_("Two-wire sensor"), "B"),
    Offer("potentiometer", N_("Potentio\u00admeter"), "R"),
    Offer("sender", N_("Sender"), "B"),
)
KEYS = (
    Offer("key switch", N_("Key: on")),
    Offer("key start switch", N_("Key: start only")),
)
"""The two wires of a key, side by side: live in on and in start, or in start alone."""
SWITCHES = (
    Offer("seat switch", N_("Seat switch")),
    Offer("bar switch", N_("Bar switch")),
    Offer("gate switch", N_("Gate switch")),
    Offer("brake pedal switch", N_("Brake pedal switch")),
    Offer("PTO switch", N_("PTO switch")),
    Offer("pedal neutral switch", N_("Pedal neutral switch")),
    Offer("lever neutral switch", N_("Neutral switch (lever)")),
    Offer("clutch switch", N_("Clutch switch")),
    Offer("hood switch", N_("Hood switch")),
)
MORE_SWITCHES = (
    Offer("parking brake switch", N_("Parking brake switch")),
    Offer("door switch", N_("Door switch")),
    Offer("lever switch", N_("Lever switch")),
    Offer("cover switch", N_("Cover switch")),
    Offer("master switch", N_("Battery isolator")),
    Offer("start button", N_("Start button")),
)
ENDS = (Offer("frame", N_("Frame (ground)")), Offer("battery-", N_("Battery minus")))
BOXES = (
    Offer("ratiometric sensor", N_("Angle or position sensor, three wires")),
    Offer("open-collector sensor", N_("Switching sensor, three wires")),
    Offer("push-pull sensor", N_("Push-pull sensor, three wires")),
    Offer("speed pick-up", N_("Speed pick-up, three wires")),
)
ROLES = (
    Offer("battery", N_("supply")),
    Offer("ground", N_("ground")),
    Offer("feed", N_("feed to sensors")),
    Offer("input", N_("input")),
    Offer("output", N_("output")),
)
COLOUR_NAMES = (
    Offer("BK", N_("black")),
    Offer("BN", N_("brown")),
    Offer("RD", N_("red")),
    Offer("OG", N_("orange")),
    Offer("YE", N_("yellow")),
    Offer("GN", N_("green")),
    Offer("BU", N_("blue")),
    Offer("VT", N_("violet")),
    Offer("GY", N_("grey")),
    Offer("WH", N_("white")),
    Offer("PK", N_("pink")),
    Offer("TQ", N_("turquoise")),
)

PAINTS = {offer.word: PAINT[offer.word] for offer in COLOUR_NAMES}
"""Letters of a colour to its paint."""

_LETTERS = {offer.word: offer.letter for offer in (*FIRST, *MORE) if offer.letter}
_UNITS = {"fuse": "A", "circuit breaker": "A", "wire": "m", "lamp": "W"}
"""Unit of a bare number beside a kind; ohms elsewhere."""
_BARE = re.compile(r"\d+(?:\.\d+)?")
_COMMA = re.compile(r"(?<=\d),(?=\d)")
_RELAY = re.compile(r"relay coil (\w+)|(.+) relay coil\b", re.IGNORECASE)
_CAVITY = re.compile(r"([A-Za-z]{1,3})(\d{1,3})-(\d{1,3})")


def is_load(item: str) -> bool:
    """Whether an item of a run is what a function ends in: behind it the current goes home."""
    try:
        found = read_item(item, registry())
    except UnitError:
        return False
    return found.kind is not None and found.kind.load and "contact" not in found.passing


SIZES = ("5", "7.5", "10", "15", "20", "30")
"""Fuses that are met most [A]."""


def lacks_size(item: str) -> bool:
    """Whether an item is a fuse whose size is not said yet."""
    try:
        found = read_item(item, registry())
    except UnitError:
        return False
    return found.kind is not None and found.kind.name == "fuse" and not found.values


def item_of(word: str, name: str, value: str, items: list[str]) -> str:
    """The words of a run for a button, with a name and a value as far as they were typed.

    Parameters
    ----------
    word
        Of the button.
    name
        As typed; without one the next free designation is taken.
    value
        As typed; a bare number takes the unit of its kind.
    items
        All things of all runs so far.
    """
    called = " ".join(name.split())
    letter = _LETTERS.get(word, "")
    if letter:
        called = _designated(called, letter, items)
        start = word
        if word == "relay coil" and not DESIGNATION.match(called):
            # So the relay is called as it is spoken of: start relay.
            start, called = "", f"{called.removesuffix(' relay')} {word}"
    else:
        start = word
        if called:
            start, called = "", _called(called, word)
        elif word.endswith((" switch", " button")) and _is_taken(word, items):
            called = str(_next(rf"{re.escape(word)} (\d+)$", items, 2))
    return " ".join(filter(None, (start, called, valued(word, value))))


def _designated(called: str, letter: str, items: list[str]) -> str:
    if not called:
        number = _next(rf"(?:^|\s){letter}(\d+)(?:$|\s)", items, 1)
        return f"{letter}{number}"
    if called.isdigit():
        return f"{letter}{called}"
    return called.upper() if DESIGNATION.match(called.upper()) else called


def _called(called: str, word: str) -> str:
    """A typed name with what was tapped: the kind's whole word where the name means something else.

    A gate switch called ``rear flip`` is a ``rear flip gate switch``: a guard with the gate's places.
    """
    named = called if _says(called, word) else f"{called} {word.rsplit(maxsplit=1)[-1]}"
    if not switch_habit(word).known or _means(named, word):
        return named
    return f"{named.removesuffix(named.split()[-1]).strip()} {word}".strip()


def _means(name: str, word: str) -> bool:
    """Whether a switch's name alone gives it the positions of a kind, or its control."""
    own, kind = switch_habit(name), switch_habit(word)
    same_places = (own.positions, own.closed) == (kind.positions, kind.closed)
    return own.known and (own.control == kind.control or same_places)


def meaning_lost(item: str, word: str) -> SwitchHabit | None:
    """The habit of the kind that was tapped, where the name that was typed says another; None elsewhere."""
    kind = switch_habit(word)
    switch = word.endswith(" switch") and kind.known
    return kind if switch and not _means(item, word) else None


def _says(called: str, word: str) -> bool:
    """Whether a name says its kind itself, such as ``reverse lockout switch``."""
    return called.lower().split()[-1] == word.rsplit(maxsplit=1)[-1].lower()


def _is_taken(word: str, items: list[str]) -> bool:
    return any(bare(i).lower() == word.lower() for i in items)


def _next(pattern: str, items: list[str], first: int) -> int:
    numbers = [int(found[1]) for item in items if (found := re.search(pattern, item))]
    return max(numbers, default=first - 1) + 1 if numbers else first


def valued(word: str, value: str) -> str:
    """A value with its unit: ``5`` beside a fuse is 5 A; a decimal comma is a point."""
    plain = _COMMA.sub(".", " ".join(value.split()))
    return f"{plain} {_UNITS.get(word, 'ohm')}" if _BARE.fullmatch(plain) else plain


def wire_of(first: str, second: str, length: str, size: str) -> str:
    """A wire as a run says it: ``wire 2 m 1 mm2 BU/WH``."""
    colour = "/".join(c for c in (first, second) if c in COLOURS)
    metres, square = valued("wire", length), _COMMA.sub(".", " ".join(size.split()))
    square = f"{square} mm2" if _BARE.fullmatch(square) else square
    return " ".join(filter(None, ("wire", metres, square, colour)))


def cavity_named(name: str, offered: str, items: list[str]) -> str:
    """The pin of a plug that was tapped while a name was typed: ``C2-2`` as typed, the next pin of ``C2``.

    Raises
    ------
    SheetError
        When the name is no pin and no plug.
    """
    said = " ".join(name.split())
    if not said or not canonical_cavity(offered):
        return offered
    if cavity := canonical_cavity(said):
        return cavity
    if not DESIGNATION.match(said.upper()):
        remedy = "Write plug and pin, such as C2-2, or leave the name empty."
        raise SheetError(Problem("name", said, "is no pin of a plug", remedy))
    pins = [int(m[3]) for i in items if (m := _CAVITY.fullmatch(i)) and f"{m[1]}{m[2]}" == said.upper()]
    return f"{said.upper()}-{max(pins, default=0) + 1}"


def next_cavities(items: list[str]) -> tuple[str, str]:
    """The next cavity of the plug met last, and the first of a new one."""
    met = [
        found for item in items if (cavity := canonical_cavity(item)) and (found := _CAVITY.fullmatch(cavity))
    ]
    if not met:
        return "C1-1", ""
    letters, number, _pin = met[-1].groups()
    pins = [int(m[3]) for m in met if m[1] == letters and m[2] == number]
    plugs = [int(m[2]) for m in met if m[1] == letters]
    return f"{letters}{number}-{max(pins) + 1}", f"{letters}{max(plugs) + 1}-1"


@dataclass(frozen=True, slots=True)
class Contact:
    """A way through a relay that no run takes yet.

    Parameters
    ----------
    item
        As a run says it.
    relay
        The relay.
    resting
        Whether it is closed while the relay is out.
    """

    item: str
    relay: str
    resting: bool


def free_contacts(items: list[str]) -> list[Contact]:
    """Contacts of relays whose coil is drawn and whose contact is not."""
    found = [_RELAY.match(item) for item in items]
    drawn = {i.lower() for i in items}
    relays = dict.fromkeys((match[1] or "", match[2] or "") for match in found if match)
    contacts = [
        Contact(
            f"{spoken} relay {way}" if spoken else f"relay {way} {number}", spoken or number, way != "contact"
        )
        for number, spoken in relays
        for way in ("contact", "resting contact")
    ]
    return [c for c in contacts if c.item.lower() not in drawn]


def terminal_of(owner: str, kind: str, terminal: str, items: list[str]) -> str:
    """A terminal of a part that a run cannot pass; its first mention names its kind."""
    name = " ".join(owner.split()) or kind.rsplit(maxsplit=1)[-1]
    known = any(f"{name}.".lower() in item.lower() for item in items)
    said = name if known or kind == "controller" or name.lower() in registry().by_word else f"{kind} {name}"
    return f"{said}.{terminal}"

"""One item of a run as it is written: ``fuse F4 10 A``, ``C1-3``, ``relay coil K1 84 ohm``."""

from __future__ import annotations

import re
from dataclasses import dataclass

from backprobe.errors import Problem, UnitError
from backprobe.sheet.kind import Kind, Registry
from backprobe.sheet.lexicon import DESIGNATION, bare, is_colour, is_contact_name
from backprobe.sheet.parting import refuse_swallowed
from backprobe.sheet.run_values import refuse_comma, refuse_letter_o, spelt_values
from backprobe.sheet.spelling import respelt
from backprobe.units import Toleranced, parse_toleranced

CAVITY = re.compile(r"^([A-Za-z]{1,3}\d{1,3})-([A-Za-z0-9]{1,3})$")
POSTS = {"battery+": "battery.+", "battery-": "battery.-", "frame": "frame"}

_NUMBER = r"\d+(?:\.\d+)?"
_UNIT = r"(?:[mkM]?(?:ohms?|Ω|\u2126)|[kM](?![A-Za-z0-9])|m?V|[mu]?A|W|mm2|mm²|m|R)"
_VALUE = re.compile(
    rf"(?<![\w.-])(?:about\s+|~)?{_NUMBER}(?:\.\.{_NUMBER})?\s?{_UNIT}(?:\s?(?:\+-|±)\s?{_NUMBER}\s?(?:%|{_UNIT}))?(?![\w])"
)
_CODE = re.compile(r"\d+[RrkKM]\d+|\d+(?:\.\d+)?[eE][+-]?\d+")
"""``4k7`` is a value without a unit; an exponent is refused as one, not taken for a name."""
_UNWRITTEN = frozenset({"contact", "connector"})
"""Kinds that only cavities make; as a word, `contact` is a way through a relay."""
_RELAY = r"(K\d{1,3}[a-z]?)"
_WAY = "(coil|(?:resting )?contact)"
_RELAY_WAY = re.compile(f"{_RELAY} {_WAY}|{_WAY} {_RELAY}")
"""``K2 coil`` is the coil of a relay, not a valve: K is the letter of relays (IEC 81346-2)."""


@dataclass(frozen=True, slots=True)
class ItemText:
    """What one item of a run says, before names are looked up.

    `shape` is ``post``, ``cavity`` or ``thing``; a thing has a name, perhaps a kind, a way of
    passing it and values by unit.
    """

    text: str
    shape: str
    name: str
    kind: Kind | None = None
    passing: str = ""
    values: tuple[Toleranced, ...] = ()
    colour: str = ""


def canonical_cavity(text: str) -> str | None:
    """``c1-3`` as ``C1-3``; None when the text is no cavity."""
    found = CAVITY.match(text.strip())
    return f"{found[1].upper()}-{found[2].upper()}" if found else None


def read_item(text: str, registry: Registry) -> ItemText:
    """Take one item of a run apart.

    Raises
    ------
    UnitError
        When a value inside the item cannot be read.
    """
    plain = bare(text)
    if plain.lower() in POSTS:
        return ItemText(text, "post", plain.lower())
    if cavity := canonical_cavity(plain):
        return ItemText(text, "cavity", cavity)
    values: list[Toleranced] = []

    def take(match: re.Match[str]) -> str:
        values.append(parse_toleranced(match[0].strip()))
        return " "

    refuse_comma(plain)
    refuse_swallowed(plain)
    refuse_letter_o(plain)
    words = _VALUE.sub(take, plain).split()
    values += [parse_toleranced(w) for w in words if _CODE.fullmatch(w)]
    words = [w for w in words if not _CODE.fullmatch(w)]
    colours = [w for w in words if is_colour(w)]
    words = [w for w in words if not is_colour(w)]
    if values and (post := bare(" ".join(words)).lower()) in {"battery+", "battery-"}:
        # The volts of the battery, said at its post.
        return ItemText(text, "post", post, None, "", tuple(values))
    written, words = spelt_values(words, _kind_of(words, registry))
    values += written
    name = bare(" ".join(words))
    # No part has a dot in its name: what has one is a terminal, `resistor R1.2` as well as `R1.2`.
    kind, rest, passing = (None, "", "") if "." in name else _find_kind(name, registry)
    if kind is None and is_contact_name(name):
        kind, rest = registry.by_name["switch"], name
    if kind is None:
        return ItemText(text, "thing", name, None, "", tuple(values), "".join(colours[:1]))
    if not passing:
        _refuse_way(name, rest, kind)
    if rest.lower() in kind.terminals and rest.isalpha() and kind.passes:
        # "alternator stud" is a terminal of the alternator, as "alternator.stud" is.
        return ItemText(text, "thing", f"{kind.name}.{rest.lower()}", None, "", tuple(values))
    return ItemText(
        text, "thing", _full_name(kind, name, rest), kind, passing, tuple(values), "".join(colours[:1])
    )


def _kind_of(words: list[str], registry: Registry) -> Kind | None:
    """The kind that an item names before its values, or behind them."""
    if any("." in w and not w[0].isdigit() for w in words):
        return None
    heads = (words[:end] for end in range(len(words), 0, -1))
    tails = (words[start:] for start in range(1, len(words)))
    found = (_find_kind(bare(" ".join(some)), registry)[0] for some in (*heads, *tails))
    return next((kind for kind in found if kind is not None), None)


def _find_kind(name: str, registry: Registry) -> tuple[Kind | None, str, str]:
    """The kind named at the start or the end of a phrase, the rest, and how it is passed."""
    if relay := _RELAY_WAY.fullmatch(name):
        return registry.by_name["relay"], relay[1] or relay[4], relay[2] or relay[3]
    words = name.split()
    lower = [w.lower() for w in words]
    for size in range(len(words), 0, -1):
        # Of two kinds the last is what it is: an alternator cable is a cable. But its stud is a terminal.
        head = registry.by_word.get(" ".join(lower[:size]))
        terminal = head is not None and " ".join(lower[size:]) in head.terminals
        for start in (0,) if terminal else (len(words) - size, 0):
            phrase = " ".join(lower[start : start + size])
            kind = registry.by_word.get(phrase)
            if kind is None or kind.name in _UNWRITTEN:
                continue
            rest = words[:start] + words[start + size :]
            passing = next((p for p in _ways(kind) if phrase.endswith(" " + p)), "")
            for way in _ways(kind):
                tail = way.split()
                if [w.lower() for w in rest[-len(tail) :]] == tail:
                    return kind, " ".join(rest[: -len(tail)]), way
            return kind, " ".join(rest), passing
    return None, "", ""


def _refuse_way(name: str, rest: str, kind: Kind) -> None:
    """Ask about a word that is nearly a way through: ``relay contat K1`` would be its coil without a word."""
    meant = respelt(rest, {word for way in _ways(kind) for word in way.split()})
    if meant:
        remedy = f"Did you mean '{name.replace(rest, meant)}'?"
        raise UnitError(Problem("", name, f"names no way through a {kind.name}", remedy))


def _ways(kind: Kind) -> list[str]:
    """The words for how a kind is passed, longest first: a resting contact is not a contact."""
    return sorted(filter(None, kind.passes), key=len, reverse=True)


def _full_name(kind: Kind, name: str, rest: str) -> str:
    # "fuse F4" and "relay coil K1" carry a designation: the kind's own word and the designation.
    # "seat switch", "pedal switch" are names as spoken.
    if DESIGNATION.match(rest):
        return f"{kind.name} {rest}"
    if rest and name.lower().startswith(kind.name) and kind.joins:
        return f"{kind.name} {rest}"
    for way in _ways(kind):
        if name.lower().endswith(" " + way):
            name = name[: -len(way)].strip()
    return name


def value_problem(field: str, error: UnitError, *, file: str, line: int) -> Problem:
    """A unit problem, placed in the sheet."""
    first = error.problems[0]
    return Problem(field, first.value, first.message, first.remedy, file, line)

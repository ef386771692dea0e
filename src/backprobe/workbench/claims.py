"""Claims as people write them: a line of words with amounts in it, such as ``68 F is 30 C``."""

from __future__ import annotations

import re
from dataclasses import dataclass

from backprobe.errors import BackprobeError, Problem
from backprobe.unit_tables import SAME_SIGNS, UNITS

HOUR, DAY = 1 / 24, 1.0
TIMES = {
    "s": 1 / 86400,
    "sec": 1 / 86400,
    "second": 1 / 86400,
    "min": 1 / 1440,
    "minute": 1 / 1440,
    "h": HOUR,
    "hour": HOUR,
    "day": DAY,
    "week": 7.0,
    "month": 30.4,
    "year": 365.0,
}
"""Times in days; a plural s is taken off first."""
OTHERS = {
    "Ah": ("Ah", 1.0),
    "ah": ("Ah", 1.0),
    "AH": ("Ah", 1.0),
    "F": ("F", 1.0),
    "f": ("F", 1.0),
    "degF": ("F", 1.0),
    "°F": ("F", 1.0),
    "fahrenheit": ("F", 1.0),
    "Fahrenheit": ("F", 1.0),
    "AWG": ("AWG", 1.0),
    "awg": ("AWG", 1.0),
    "gauge": ("AWG", 1.0),
    "k": ("ohm", 1e3),
    "ft": ("m", 0.3048),
    "feet": ("m", 0.3048),
    "foot": ("m", 0.3048),
}
"""Units of claims that sheets do not have, with their factor to ours."""
PLAIN = r"[+-]?[0-9]+(?:\.[0-9]+)?"
NUMBER = r"(?:(?<![\w.])[+-]|(?<![\w.+-]))[0-9]+(?:\.[0-9]+)?"
"""A number that is no tail of a name such as F1 or C2-3."""
UNIT = r"(?:(?!to\b)[°º]?[A-Za-zΩ][A-Za-zΩ0-9^]*|%)"
AMOUNT = re.compile(
    rf"(?P<gauge>\bAWG\s*(?P<number>[0-9]+))|(?P<low>{NUMBER})\s*(?P<unit>{UNIT})?"
    rf"(?:\s*(?P<to>\.\.|\bto\b)\s*(?P<high>{PLAIN})\s*(?P<unit2>{UNIT})?)?",
    re.IGNORECASE,
)
COUNTED = 3
"""Letters from which on a word after a number is what is counted (``3 joints``), not a unit."""
JOINERS = frozenset({"is", "at", "of", "in", "on", "or", "as", "by", "it", "be", "if"})
"""Words too short to be counted and no unit: the number before them has none."""
LONGEST = 300
"""Characters of a claim; more is a story."""


class ClaimError(BackprobeError, ValueError):
    """A claim that cannot be read."""


@dataclass(frozen=True, slots=True)
class Amount:
    """One amount of a claim: its value [`unit`], the upper end where it is a range, and as written.

    `unit` is one of ``V A ohm W Ah degC F % mm2 AWG m d Hz``; times are in days.
    """

    value: float
    unit: str
    text: str
    at: int
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Claim:
    """One claim: its line, its text, its amounts in order and its words in lower case."""

    line: int
    text: str
    amounts: tuple[Amount, ...]
    words: frozenset[str]

    def of(self, unit: str) -> list[Amount]:
        """Single amounts of a unit, in order."""
        return [a for a in self.amounts if a.unit == unit and a.high is None]

    def ranges(self) -> list[Amount]:
        """Amounts with two ends."""
        return [a for a in self.amounts if a.high is not None]

    def says(self, *words: str) -> bool:
        """Whether one of these words stands in it."""
        return any(w in self.words for w in words)

    def near(self, word: str, amounts: list[Amount]) -> Amount | None:
        """The amount that stands nearest to a word, such as a fuse's rating to ``fuse``."""
        place = self.text.lower().find(word)
        if place < 0 or not amounts:
            return None
        middle = place + len(word) / 2
        return min(amounts, key=lambda a: abs(a.at + len(a.text) / 2 - middle))


def parse_claims(text: str, *, file: str = "-") -> tuple[Claim, ...]:
    """Read claims, one a line; empty lines and what follows ``#`` are left out.

    Raises
    ------
    ClaimError
        With one problem for each line that has no amount, or a number without a unit.
    """
    claims: list[Claim] = []
    problems: list[Problem] = []
    for number, raw in enumerate(text.splitlines(), 1):
        line = raw.partition("#")[0].translate(SAME_SIGNS).strip()
        if not line:
            continue
        try:
            claims.append(parse_claim(line, number))
        except ClaimError as error:
            p = error.problems[0]
            problems.append(Problem(p.field, p.value, p.message, p.remedy, file, number))
    if problems:
        raise ClaimError(*problems)
    return tuple(claims)


def parse_claim(text: str, line: int = 0) -> Claim:
    """Read one claim.

    Raises
    ------
    ClaimError
        When it has no amount, or a number whose unit is not known.
    """
    if len(text) > LONGEST:
        raise _wrong(text, f"is longer than {LONGEST} characters", "Write one claim a line.")
    amounts = [a for match in AMOUNT.finditer(text) for a in _amounts(match, text)]
    if not amounts:
        raise _wrong(text, "has no number with a unit", "Write such as: 68 F is 30 C.")
    words = frozenset(re.findall(r"[a-z]+", text.lower()))
    return Claim(line, text, tuple(amounts), words)


def _amounts(match: re.Match[str], text: str) -> tuple[Amount, ...]:
    """The amount of a match; two where both ends have units of their own kind, as in ``5 F to 20 C``."""
    at = match.start()
    if match["gauge"]:
        return (Amount(float(match["number"]), "AWG", match[0], at),)
    first, second = match["unit"] or match["unit2"], match["unit2"] or match["unit"]
    kind = _known(match["low"], first, text, counted=match["high"] is None)
    if kind is None:
        return ()
    low = float(match["low"]) * kind[1]
    if not match["high"]:
        return (Amount(low, kind[0], match[0].strip(), at),)
    other = _known(match["high"], second, text, counted=False)
    if other is None:
        return ()
    high = float(match["high"]) * other[1]
    if other[0] == kind[0]:
        return (Amount(low, kind[0], match[0].strip(), at, high),)
    ends = f"{match['low']} {first}", f"{match['high']} {second}"
    return Amount(low, kind[0], ends[0], at), Amount(high, other[0], ends[1], match.start("high"))


def _known(number: str, unit: str | None, text: str, *, counted: bool) -> tuple[str, float] | None:
    """The kind and factor of a unit; None for a word that is only counted."""
    if unit is None or unit.lower() in JOINERS:
        raise _wrong(text, f"has '{number}' without a unit", "Write a unit after every number, such as 5 V.")
    kind = _unit(unit)
    if kind is None and not (counted and len(unit) >= COUNTED):
        known = "V A ohm W Ah C F % mm2 AWG m ft s min h days weeks months"
        raise _wrong(text, f"has '{unit}', which is no unit here", f"Use {known}.")
    return kind


def _unit(word: str) -> tuple[str, float] | None:
    if word in OTHERS:
        return OTHERS[word]
    day = TIMES.get(word.lower()) or TIMES.get(word.lower().removesuffix("s"))
    if day:
        return "d", day
    if word in UNITS:
        kind, exponent = UNITS[word]
        return kind, 10.0**exponent
    return None


def _wrong(text: str, message: str, remedy: str) -> ClaimError:
    return ClaimError(Problem("claim", text[:80], message, remedy))

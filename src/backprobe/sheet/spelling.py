"""Words that were nearly written: what was meant, word by word, so that a slip of the finger is asked about.

A misspelled guard is no guard, and a misspelled unit no value: neither may pass as a name.
"""

from __future__ import annotations

from collections.abc import Iterable

ORDINARY = frozenset(
    {
        "bay",
        "breaker",
        "catch",
        "cool",
        "cooler",
        "hitch",
        "hold",
        "hook",
        "latch",
        "level",
        "line",
        "liner",
        "load",
    }
    | {"lower", "marker", "over", "port", "pot", "rake", "seal", "set", "shaft", "spray", "starter"}
)
"""Trade words that are near a word of the lexicon and mean something else; common practice, no source."""


def distance(one: str, other: str) -> int:
    """Slips of a finger between two words: a letter more, less, wrong, or two the wrong way round [1]."""
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        older, before, row = before, row, [i]
        for j, b in enumerate(other, 1):
            best = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and one[i - 2] == b:
                best = min(best, older[j - 2] + 1)
            row.append(best)
    return row[-1]


def nearly(word: str, known: Iterable[str]) -> str:
    """The one known word that was most likely meant; empty where none is near, or it is known itself.

    Short words may have one slip, words from five letters two; the first letter is seldom wrong.
    """
    said = word.lower()
    names = {k.lower(): k for k in known if len(k) > 2}
    if len(said) < 3 or said in names or not said.isalpha():
        return ""
    found: list[tuple[int, int, str]] = []
    for name, as_written in names.items():
        if abs(len(name) - len(said)) > 2:
            continue
        slips = distance(said, name)
        same_start = name[0] == said[0]
        if slips <= (2 if min(len(name), len(said)) >= 5 and same_start else 1) and (
            same_start or sorted(name) == sorted(said) or len(name) >= 5
        ):
            found.append((slips, not same_start, as_written))
    return min(found)[2] if found else ""


def respelt(phrase: str, known: Iterable[str]) -> str:
    """A phrase with each word that is nearly a known one written as that; empty where nothing changes.

    Words of the trade that are something else stay, and so do designations and numbers.
    """
    vocabulary = tuple(known)
    words = phrase.split()
    meant = [w if w.lower() in ORDINARY else nearly(w, vocabulary) or w for w in words]
    return " ".join(meant) if meant != words else ""

"""Sentences of the engine in another language: known by their pattern, put together again.

A pattern is a sentence with gaps in braces, ``Key off before {name} is unplugged``. What fills a gap is
looked up as a sentence of its own. How things are joined in a gap follows from its name:

- ``list...``: ``a, b and c``
- ``chain...``: ``a; b``
- ``shares...``: ``a (3 %), b (2 %) or c (1 %)``, where a comma may stand inside of a name
- ``span...``: ``3 to 4 V``
- ``rule...``: ``seat is seated and lever is neutral``
- ``line...``: a line as it is typed, with whatever stands in it
- ``num...``: a number, to keep a pattern of few words from what a mechanic wrote

Every text is looked through in a time that grows with its length only: no step ever goes back.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

LONGEST = 2000
"""Texts longer than this are left alone [characters]."""
DEPTH = 8
"""How deep gaps may lie in gaps."""
PIECES = 60
"""Texts of more sentences or listed things than this are left alone."""
KEPT = 5000
"""How many answers are kept."""
GAP = re.compile(r"\{(\w+)\}")
SHORT = 12
"""A pattern with less fixed text than this holds no gap that goes over the end of a clause [characters]."""
_CLAUSE = re.compile(r"[:;.!?] ")
_HEAD = 3
"""How many of its first characters a pattern is found by."""
_SENTENCE = re.compile(r"(?<=[.!?]) (?=[A-Z'])")
_STOP = re.compile(r"[.!?] ")
_LISTED = re.compile(r"(, or |, | and | or )")
_RULE = re.compile(r" (is not|is|and|or) ")
_SHARES = re.compile(r"(?<=\))(, | or )")
_SHARE = re.compile(r"(.*) \(((?:below |over )?\d+ %)\)")
_NUMERIC = re.compile(r"[+-]?\d|\(\d")
_NUMBER = re.compile(r"`[^`]*`|(?<![\w.])\d+\.\d+(?!\.?\d)")


@dataclass(frozen=True, slots=True)
class Pattern:
    """A sentence with gaps, and its translation.

    Parameters
    ----------
    fixed
        What stands around the gaps, one more than there are gaps.
    gaps
        Their names, in order.
    shape
        The translation, fixed parts and names of gaps by turns.
    """

    fixed: tuple[str, ...]
    gaps: tuple[str, ...]
    shape: tuple[str, ...]

    @classmethod
    def of(cls, sentence: str, translation: str) -> Pattern:
        """The pattern of a sentence and its translation, both with the same gaps."""
        pieces = GAP.split(sentence)
        return cls(tuple(pieces[::2]), tuple(pieces[1::2]), tuple(GAP.split(translation)))

    @property
    def _ends_in_share(self) -> bool:
        """Whether it ends in a share in brackets, before which a name may have brackets of its own."""
        return self.gaps[-1] == "share" and len(self.gaps) > 1

    @property
    def mark(self) -> str:
        """The longest of its fixed texts: a sentence without it is another one."""
        return max(self.fixed, key=len)

    def _may_fill(self, name: str, text: str) -> bool:
        """Whether a text may fill a gap: what goes over the end of a sentence is rather two sentences."""
        if name.startswith("num"):
            return _NUMERIC.match(text) is not None
        if name.startswith(("list", "chain", "shares", "line")):
            return True
        if _SENTENCE.search(text):
            return any(map(_STOP.search, self.fixed))
        return self.says >= SHORT or not _CLAUSE.search(text) or any(map(_CLAUSE.search, self.fixed))

    @property
    def says(self) -> int:
        """How much of the sentence is fixed [characters]."""
        return sum(map(len, self.fixed))

    def match(self, text: str) -> dict[str, str] | None:
        """What fills the gaps; None where the text is another sentence."""
        first, *between, last = self.fixed
        if not text.startswith(first) or not text.endswith(last):
            return None
        at, end = len(first), len(text) - len(last)
        filled: dict[str, str] = {}
        for name, fixed in zip(self.gaps, [*between, None], strict=True):
            # The first place that fits leaves the most for what follows, so there is nothing to go back to.
            look = text.rfind if self._ends_in_share and fixed == between[-1] else text.find
            stop = end if fixed is None else look(fixed, at + 1, end)
            if stop <= at or filled.setdefault(name, text[at:stop]) != text[at:stop]:
                return None
            at = stop + len(fixed or "")
        return filled if all(self._may_fill(name, part) for name, part in filled.items()) else None


class EngineWords:
    """What the engine says, in one language.

    Parameters
    ----------
    entries
        Sentence to its translation; both may have gaps.
    comma
        Whether numbers are written with a decimal comma.
    """

    def __init__(self, entries: Mapping[str, str], *, comma: bool = False) -> None:
        self._whole = {k: v for k, v in entries.items() if v and not GAP.search(k)}
        self._comma = comma
        self._kept: dict[str, str] = {}
        patterns = [Pattern.of(k, v) for k, v in entries.items() if v and GAP.search(k)]
        # The longest fixed part first: it says most; then what begins with it.
        patterns.sort(key=lambda p: (-p.says, -len(p.fixed[0])))
        marked = [(p.mark, p) for p in patterns]
        self._loose = tuple((m, p) for m, p in marked if len(p.fixed[0]) < _HEAD)
        self._by_head = {
            head: tuple((m, p) for m, p in marked if len(p.fixed[0]) < _HEAD or p.fixed[0].startswith(head))
            for head in {p.fixed[0][:_HEAD] for p in patterns if len(p.fixed[0]) >= _HEAD}
        }

    def said(self, text: str) -> str:
        """A text as far as its sentences are known; the rest stays as it is."""
        if not self._whole or not text or len(text) > LONGEST:
            return text
        found = self._kept.get(text)
        if found is None:
            if len(self._kept) > KEPT:
                self._kept.clear()
            found = self._said(text, DEPTH)
            if self._comma and found != text:
                found = _NUMBER.sub(_with_comma, found)
            self._kept[text] = found
        return found

    def listed(self, text: str) -> str:
        """Things that the engine has joined, ``a, b and c``, each looked up and the joints translated."""
        return self._listed(text, DEPTH)

    def rule(self, text: str) -> str:
        """A rule of a sheet, ``seat is seated and lever is neutral``: its names stay."""
        return _RULE.sub(lambda found: f" {self._whole.get(found[1], found[1])} ", text)

    def _said(self, text: str, depth: int) -> str:
        if (whole := self._whole.get(text)) is not None:
            return whole
        if depth:
            for mark, pattern in self._by_head.get(text[:_HEAD], self._loose):
                if mark in text and (filled := pattern.match(text)) is not None:
                    gaps = {name: self._filled(name, part, depth - 1) for name, part in filled.items()}
                    return "".join(gaps[p] if k % 2 else p for k, p in enumerate(pattern.shape))
            for pieces, joint in ((_SENTENCE.split(text), " "), (text.split("; "), "; ")):
                if 1 < len(pieces) <= PIECES:
                    return joint.join(self._said(p, depth - 1) for p in pieces)
            # What is wrong stands in a catalogue as a clause, since a value may stand before it.
            if text.endswith(".") and (clause := self._said(text[:-1], depth - 1)) != text[:-1]:
                return f"{clause}."
        return text

    def _filled(self, name: str, text: str, depth: int) -> str:
        if name.startswith("list"):
            return self._listed(text, depth)
        if name.startswith("shares"):
            pieces = _SHARES.split(text)
            return "".join(self._joint(p) if k % 2 else self._shared(p, depth) for k, p in enumerate(pieces))
        if name.startswith("chain"):
            return "; ".join(self._said(p, depth) for p in text.split("; "))
        if name.startswith("span"):
            return text.replace(" to ", f" {self._whole.get('to', 'to')} ")
        if name.startswith("rule"):
            return self.rule(text)
        return self._said(text, depth)

    def _listed(self, text: str, depth: int) -> str:
        known = self._said(text, depth)
        return known if known != text else self._joined(_LISTED.split(text), depth)

    def _joined(self, pieces: list[str], depth: int) -> str:
        """Things and joints by turns."""
        if len(pieces) > 2 * PIECES:
            return "".join(pieces)
        return "".join(self._joint(p) if k % 2 else self._said(p, depth) for k, p in enumerate(pieces))

    def _shared(self, text: str, depth: int) -> str:
        """A name with its share, ``fuse F1: blown (7 %)``; the name may end in a bracket of its own."""
        if found := _SHARE.fullmatch(text):
            return f"{self._said(found[1], depth)} ({self._said(found[2], depth)})"
        return self._said(text, depth)

    def _joint(self, joint: str) -> str:
        word = joint.strip(" ,")
        return joint.replace(word, self._whole.get(word, word)) if word else joint


def _with_comma(found: re.Match[str]) -> str:
    return found[0] if found[0].startswith("`") else found[0].replace(".", ",")

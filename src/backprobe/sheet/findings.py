"""Gathers problems while a sheet is read, so that one pass reports them all."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from backprobe.errors import Problem, SheetError


class Findings:
    """Problems of one file, in the order found."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self._spoilt: list[str] = []

    def spoil(self, name: str) -> None:
        """Keep quiet about what follows from `name`, which is already reported."""
        self._spoilt.append(name)

    def add(self, field: str, value: str, message: str, remedy: str, line: int) -> None:
        """Add one problem, unless it follows from another."""
        if any(value == name or value.startswith((f"{name} ", f"{name}.")) for name in self._spoilt):
            return
        self.problems.append(Problem(field, value[:80], message, remedy, self.file, line))

    def raise_any(self) -> None:
        """Raise what was found, by line.

        Raises
        ------
        SheetError
            When there is at least one problem.
        """
        if self.problems:
            raise SheetError(*sorted(self.problems, key=lambda p: p.line))


def nearest(word: str, known: Iterable[str]) -> str:
    """A remedy that offers the nearest known words."""
    words = sorted(set(known))
    close = get_close_matches(word, words, n=3, cutoff=0.6)
    if close:
        return "Did you mean " + " or ".join(f"'{c}'" for c in close) + "?"
    if not words:
        return ""
    rest = f" and {len(words) - 12} more" if len(words) > 12 else ""
    return f"Use one of: {', '.join(words[:12])}{rest}."

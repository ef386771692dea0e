"""What was typed into a form that could not be taken: kept for the page that asks again."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, field

from backprobe.errors import BackprobeError, Problem

FORMS = 200


@dataclass(frozen=True, slots=True)
class Kept:
    """Values of a form, and what is wrong with some of them.

    Parameters
    ----------
    values
        Field to text; a field that may be given more than once has its texts one a line.
    errors
        Field to one message; the field ``""`` is the form as a whole.
    """

    values: Mapping[str, str] = field(default_factory=dict)
    errors: Mapping[str, str] = field(default_factory=dict)

    def value(self, name: str, default: str = "") -> str:
        """What was typed into a field."""
        return self.values.get(name, default)

    def error(self, name: str) -> str:
        """What is wrong with a field; empty when nothing is."""
        return self.errors.get(name, "")

    def has(self, name: str, one: str) -> bool:
        """Whether a field that may be given more than once was given this text."""
        return one in self.values.get(name, "").split("\n")


@dataclass(slots=True)
class Keeper:
    """The last forms that could not be taken, by a number that stands in the address."""

    _forms: OrderedDict[str, Kept] = field(default_factory=OrderedDict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def keep(self, kept: Kept) -> str:
        """Keep a form; its number."""
        number = secrets.token_urlsafe(9)
        with self._lock:
            self._forms[number] = kept
            while len(self._forms) > FORMS:
                self._forms.popitem(last=False)
        return number

    def take(self, number: str) -> Kept:
        """The form of a number; an empty one where it is forgotten."""
        return self._forms.get(number, Kept())


def message_of(error: BackprobeError | str) -> str:
    """What is wrong and the remedy, without the name of a file that is none."""
    if isinstance(error, str):
        return error
    return "\n".join(problem_words(p) for p in error.problems) or str(error)


def problem_words(problem: Problem) -> str:
    """One problem as a sentence for the page: the value, what is wrong with it, the remedy."""
    shown = f"'{problem.value}' " if problem.value else ""
    line = f"{problem.line}: " if problem.line else ""
    return f"{line}{shown}{problem.message}. {problem.remedy}".rstrip()

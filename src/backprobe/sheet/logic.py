"""Release rules and guards: ``gate input is shut and not (boom button is pressed)``.

An atom says that an input or an operator control *is* something; atoms join with
``and``, ``or``, ``not`` and brackets, ``and`` binding tighter than ``or``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Generic, TypeVar

_TOKEN = re.compile(r"\s*(\(|\)|[^()\s]+)")
MAX_WORDS = 200


@dataclass(frozen=True, slots=True)
class Is:
    """``subject is meaning``."""

    subject: str
    meaning: str


@dataclass(frozen=True, slots=True)
class Not:
    """The negation of a rule."""

    rule: Rule


@dataclass(frozen=True, slots=True)
class Both:
    """True when both rules are."""

    left: Rule
    right: Rule


@dataclass(frozen=True, slots=True)
class Either:
    """True when one of the rules is."""

    left: Rule
    right: Rule


Rule = Is | Not | Both | Either


class RuleError(ValueError):
    """A rule that cannot be read; its text says why."""


@lru_cache(maxsize=512)
def parse_rule(text: str) -> Rule:
    """Read a rule.

    Raises
    ------
    RuleError
        With a plain sentence that says what is missing.
    """
    words = _TOKEN.findall(text)
    if len(words) > MAX_WORDS:
        raise RuleError(f"the rule is longer than {MAX_WORDS} words")
    if words.count("(") > 20:
        raise RuleError("the rule has more than 20 brackets")
    rule, rest = _either(words)
    if rest:
        raise RuleError(f"'{rest[0]}' is left over")
    return rule


def _either(words: list[str]) -> tuple[Rule, list[str]]:
    left, rest = _both(words)
    while rest and rest[0] == "or":
        right, rest = _both(rest[1:])
        left = Either(left, right)
    return left, rest


def _both(words: list[str]) -> tuple[Rule, list[str]]:
    left, rest = _one(words)
    while rest and rest[0] == "and":
        right, rest = _one(rest[1:])
        left = Both(left, right)
    return left, rest


def _one(words: list[str]) -> tuple[Rule, list[str]]:
    negated = False
    while words and words[0] == "not":
        negated, words = not negated, words[1:]
    rule, rest = _atom(words)
    return (Not(rule) if negated else rule), rest


def _atom(words: list[str]) -> tuple[Rule, list[str]]:
    if not words:
        raise RuleError("something is missing at its end")
    if words[0] == "(":
        rule, rest = _either(words[1:])
        if not rest or rest[0] != ")":
            raise RuleError("a bracket is not closed")
        return rule, rest[1:]
    end = next((i for i, w in enumerate(words) if w in {"and", "or", "not", "(", ")"}), len(words))
    atom = words[:end]
    if "is" not in atom[1:-1]:
        raise RuleError(f"'{' '.join(atom) or words[0]}' has no 'is' between a name and what it is")
    cut = atom.index("is", 1)
    return Is(" ".join(atom[:cut]), " ".join(atom[cut + 1 :])), words[end:]


def atoms(rule: Rule) -> Iterator[Is]:
    """Every atom of a rule, left to right."""
    match rule:
        case Is():
            yield rule
        case Not(inner):
            yield from atoms(inner)
        case Both(left, right) | Either(left, right):
            yield from atoms(left)
            yield from atoms(right)


def conjuncts(rule: Rule) -> Iterator[Is]:
    """The atoms that must each hold for a rule to be true: those joined by nothing but ``and``."""
    match rule:
        case Is():
            yield rule
        case Both(left, right):
            yield from conjuncts(left)
            yield from conjuncts(right)
        case Not() | Either():
            return


T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Algebra(Generic[T]):
    """How to negate and join truth values: plain booleans here, arrays of them in the circuit."""

    negate: Callable[[T], T]
    both: Callable[[T, T], T]
    either: Callable[[T, T], T]


PLAIN: Algebra[bool] = Algebra(lambda x: not x, lambda x, y: x and y, lambda x, y: x or y)


def evaluate(rule: Rule, truth: Callable[[Is], T], algebra: Algebra[T]) -> T:
    """Evaluate a rule, given the truth of its atoms."""
    match rule:
        case Is():
            return truth(rule)
        case Not(inner):
            return algebra.negate(evaluate(inner, truth, algebra))
        case Both(left, right):
            return algebra.both(evaluate(left, truth, algebra), evaluate(right, truth, algebra))
        case Either(left, right):
            return algebra.either(evaluate(left, truth, algebra), evaluate(right, truth, algebra))

"""Values that may be one of a few: a sheet without a book becomes one sheet for each build.

``volts: 5, 8 or 10 V`` and ``volts: {one of: [5 V, 8 V, 10 V], shares: [1, 2, 1]}`` name what a value
may be. Every combination of such values is a build, read as a sheet of its own.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import product
from math import prod

from backprobe.errors import Problem, SheetError
from backprobe.sheet.document import Mapping, Node, Scalar, Sequence
from backprobe.sheet.document import field as dotted
from backprobe.sheet.findings import Findings
from backprobe.sheet.model import Build, Sheet

MAX_BUILDS = 12
"""Most combinations of alternatives: each is a circuit of its own to be solved."""
ONE_OF, SHARES = "one of", "shares"
NO_VALUES = frozenset({"kind", "caution", "minutes", "closed", "bands", "type", "side", "pulls", "colour"})
NOTES = frozenset({"origin", "title", "why", "on", "with", "count", "note", "range", "tolerance"})

_SEVERAL = re.compile(r"[-+.]?\d.*\bor\b\s+[-+.]?\d.*")
_BETWEEN = re.compile(r"\s*,\s*or\s+|\s+or\s+|\s*,\s+")
_NUMBER = re.compile(r"[-+]?(?:\d+(?:\.\d+)?|\.\d+)")
_REST = re.compile(r"(?:or\s+)?[-+.]?\d.*")

Path = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Choice:
    """A value that may be one of a few.

    Parameters
    ----------
    path
        Where it stands below ``parts``.
    options
        What may stand there.
    names
        The options as they are called.
    shares
        How likely each is beforehand; they sum to 1.
    """

    path: Path
    options: tuple[Node, ...]
    names: tuple[str, ...]
    shares: tuple[float, ...]

    @property
    def name(self) -> str:
        """What is open, such as ``feed volts``; the only controller needs no name."""
        words = self.path[:-1] if self.path[-1] == "value" else self.path
        return " ".join(words[1:] if words[0] == "controller" else words)


def read_builds(document: Mapping, file: str, read: Callable[[Mapping], Sheet]) -> Sheet:
    """The sheet of a document; with alternatives its likeliest build, which knows all others.

    Parameters
    ----------
    document
        The nodes of a sheet file.
    file
        Its name, for messages.
    read
        Reads a document without alternatives.

    Raises
    ------
    SheetError
        For alternatives that cannot be read, more than `MAX_BUILDS` combinations, and what `read` raises.
    """
    parts = document.get("parts")
    if not isinstance(parts, Mapping):
        return read(document)
    parts = _rejoined(parts)
    findings = Findings(file)
    choices = list(_choices(parts, (), findings))
    findings.raise_any()
    if not choices:
        return read(_with_parts(document, parts))
    combinations = prod(len(c.options) for c in choices)
    if combinations > MAX_BUILDS:
        named = ", ".join(f"{c.name} ({len(c.options)})" for c in choices)
        message = (
            f"has {combinations} combinations of values that may be one of a few, and {MAX_BUILDS} are most"
        )
        raise SheetError(
            Problem("parts", named, message, "Write one value where you know it.", file, parts.line)
        )
    question = "which build: " + "; ".join(f"{c.name} {_spoken(c.names)}" for c in choices) + "?"
    builds: list[Build] = []
    for picked in product(*(range(len(c.options)) for c in choices)):
        told = parts
        for choice, k in zip(choices, picked, strict=True):
            told = _replaced(told, choice.path, choice.options[k])
        sheet = read(_with_parts(document, told))
        sheet = replace(sheet, unknown=(question, *sheet.unknown))
        names = tuple((c.name, c.names[k]) for c, k in zip(choices, picked, strict=True))
        share = prod(c.shares[k] for c, k in zip(choices, picked, strict=True))
        builds.append(Build(names, share, sheet))
    builds.sort(key=lambda b: -b.share)
    return replace(builds[0].sheet, builds=tuple(builds))


def _spoken(names: tuple[str, ...]) -> str:
    return f"{', '.join(names[:-1])} or {names[-1]}"


def _with_parts(document: Mapping, parts: Mapping) -> Mapping:
    entries = tuple((k, parts if k.text == "parts" else node) for k, node in document.entries)
    return Mapping(entries, document.line)


def _replaced(node: Mapping, path: Path, option: Node) -> Mapping:
    entries: list[tuple[Scalar, Node]] = []
    for key, entry in node.entries:
        new = entry
        if key.text == path[0]:
            new = option
            if len(path) > 1 and isinstance(entry, Mapping):
                new = _replaced(entry, path[1:], option)
        entries.append((key, new))
    return Mapping(tuple(entries), node.line)


def _rejoined(node: Mapping) -> Mapping:
    """Put ``{volts: 5, 8 or 10 V}`` together again, which YAML takes for three fields."""
    entries: list[tuple[Scalar, Node]] = []
    for key, entry in node.entries:
        before = entries[-1][1] if entries else None
        torn = isinstance(entry, Scalar) and not entry.text and not entry.quoted and _REST.fullmatch(key.text)
        if torn and isinstance(before, Scalar) and _REST.fullmatch(before.text):
            entries[-1] = (entries[-1][0], replace(before, text=f"{before.text}, {key.text}"))
        else:
            entries.append((key, _rejoined(entry) if isinstance(entry, Mapping) else entry))
    return Mapping(tuple(entries), node.line)


def _choices(node: Mapping, path: Path, findings: Findings) -> Iterator[Choice]:
    for key, entry in node.entries:
        here = (*path, " ".join(key.text.split()))
        if key.text in NO_VALUES or (key.text in NOTES and len(path) > 1):
            continue
        if isinstance(entry, Scalar) and len(here) > 1 and _SEVERAL.fullmatch(entry.text):
            texts = _split(entry.text)
            options = tuple(replace(entry, text=t) for t in texts)
            yield from _checked(here, options, texts, None, findings)
        elif isinstance(entry, Mapping) and entry.get(ONE_OF) is not None:
            yield from _listed(entry, here, findings)
        elif isinstance(entry, Mapping):
            yield from _choices(entry, here, findings)


def _split(text: str) -> tuple[str, ...]:
    """``5, 8 or 10 V`` as three values; what follows the last number counts for the bare ones."""
    pieces = _BETWEEN.split(text.strip())
    last = _NUMBER.match(pieces[-1])
    tail = pieces[-1][last.end() :] if last else ""
    return tuple(p + tail if _NUMBER.fullmatch(p) else p for p in pieces)


def _listed(node: Mapping, path: Path, findings: Findings) -> Iterator[Choice]:
    """``{one of: [5 V, 8 V], shares: [3, 1], why: ...}``."""
    listed, weights = node.get(ONE_OF), node.get(SHARES)
    items = listed.items if isinstance(listed, Sequence) else ()
    texts = tuple(i.text for i in items if isinstance(i, Scalar))
    if isinstance(listed, Scalar):
        texts = _split(listed.text)
    if len(texts) < 2 or (items and len(texts) != len(items)):
        shown = getattr(listed, "text", ", ".join(texts))
        remedy = "Write such as {one of: [5 V, 8 V, 10 V]}."
        findings.add(
            dotted("parts", *path, ONE_OF), shown, "does not name two or more values", remedy, node.line
        )
        return
    others = tuple((k, e) for k, e in node.entries if k.text not in {ONE_OF, SHARES})
    line = listed.line if listed else node.line
    value = Scalar("value", line, quoted=False)
    options = tuple(Mapping(((value, Scalar(t, line, quoted=False)), *others), node.line) for t in texts)
    yield from _checked(path, options, texts, weights, findings)


def _checked(
    path: Path, options: tuple[Node, ...], names: tuple[str, ...], weights: Node | None, findings: Findings
) -> Iterator[Choice]:
    field = dotted("parts", *path)
    twice = next((n for k, n in enumerate(names) if n in names[:k]), None)
    if twice is not None:
        findings.add(field, twice, "stands twice among the values", "Name each once.", options[0].line)
        return
    shares = [1.0] * len(options)
    if weights is not None:
        items = weights.items if isinstance(weights, Sequence) else ()
        shares = [_weight(i) for i in items]
        if len(shares) != len(options) or not all(s > 0 for s in shares):
            shown = getattr(weights, "text", ", ".join(getattr(i, "text", "") for i in items))
            remedy = f"Write {len(options)} numbers above zero, such as [{', '.join(['1'] * len(options))}]."
            findings.add(f"{field}.{SHARES}", shown, "does not give each value a share", remedy, weights.line)
            return
    total = sum(shares)
    yield Choice(path, options, names, tuple(s / total for s in shares))


def _weight(node: Node) -> float:
    """A share such as ``20 %`` or ``2``; 0 for what is none. Only ratios matter."""
    text = node.text.strip().removesuffix("%").strip() if isinstance(node, Scalar) else ""
    return float(text) if _NUMBER.fullmatch(text) else 0.0

"""Sheet files as text with line numbers: a strict subset of YAML, read and written.

Nothing else in the package touches YAML. Every value stays the text that was typed, so
``off``, ``010`` and ``1:30`` keep their meaning until a reader that knows the field asks
for a number, and every value remembers its line, so that a message can point at it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import yaml
from yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    Event,
    MappingEndEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from backprobe.errors import Problem, SheetError
from backprobe.sheet.yaml_messages import (
    DELETE_IT,
    FLATTEN,
    FORBIDDEN,
    MAX_DEPTH,
    TOO_DEEP,
    code_point,
    raw_problems,
    shown,
    syntax_problem,
)
from backprobe.sheet.yaml_text import yaml_lines

MAX_NODES = 50_000

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_WRITE_OUT = "Write the values out; put a text that begins with & * or ! in quotes."
_NAMED_FIELDS = "Write 'name: value' lines."


@dataclass(frozen=True, slots=True)
class Scalar:
    """One text, as typed, without its quotes; an empty plain value is the empty text."""

    text: str
    line: int
    quoted: bool


@dataclass(frozen=True, slots=True)
class Sequence:
    """A list of nodes, in order."""

    items: tuple[Node, ...]
    line: int


@dataclass(frozen=True, slots=True)
class Mapping:
    """Names with their nodes, in order of the file; no name occurs twice."""

    entries: tuple[tuple[Scalar, Node], ...]
    line: int

    def get(self, key: str) -> Node | None:
        """Return the node under `key`, or None when there is none."""
        return next((node for name, node in self.entries if name.text == key), None)

    def keys(self) -> tuple[str, ...]:
        """Return the names, in order of the file."""
        return tuple(name.text for name, _ in self.entries)


Node = Scalar | Sequence | Mapping


def scalars(node: Node) -> list[Scalar] | None:
    """The items of a list of plain texts; None when it is not one."""
    if not isinstance(node, Sequence):
        return None
    items = [i for i in node.items if isinstance(i, Scalar)]
    return items if len(items) == len(node.items) else None


def field(*parts: str | int) -> str:
    """Return the dotted path of a field; a list position counts from 0 and is shown from 1."""
    return ".".join(f"item {p + 1}" if isinstance(p, int) else " ".join(p.split()) for p in parts)


def plain(node: Node) -> Any:
    """A node as dictionaries, lists and texts, its lines forgotten; what `write_document` takes."""
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Sequence):
        return [plain(item) for item in node.items]
    return {key.text: plain(entry) for key, entry in node.entries}


def read_document(text: str, *, file: str) -> Mapping:
    """Read a sheet file into nodes that know their lines.

    Parameters
    ----------
    text
        The whole file, decoded.
    file
        Its name, for messages.

    Raises
    ------
    SheetError
        With every problem that could be gathered; a syntax error or a limit comes alone.
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if problems := raw_problems(text, file=file):
        raise SheetError(*problems)
    reader = _Reader(text, file)
    try:
        top = reader.top()
    except SheetError:
        raise
    # The pure-Python parser lets the errors of chr() out for an escape beyond Unicode.
    except (yaml.YAMLError, ValueError, OverflowError, RecursionError, MemoryError) as error:
        path = field(*reader.path)
        raise SheetError(syntax_problem(error, text, file=file, path=path)) from None
    if reader.problems or not isinstance(top, Mapping):
        raise SheetError(*reader.problems)
    return top


def _line(event: Event) -> int:
    return event.start_mark.line + 1 if event.start_mark else 0


def _both_lines(first: Event, second: Event) -> str:
    one, two = _line(first), _line(second)
    return f"lines {one} and {two}" if one != two else f"line {one}"


class _Reader:
    """Turns one stream of events into nodes and gathers what is wrong on the way."""

    def __init__(self, text: str, file: str) -> None:
        self.problems: list[Problem] = []
        self.path: list[str | int] = []
        self._file = file
        self._depth = 0
        self._count = 0
        self._events: Iterator[Event] = yaml.parse(text, Loader=_LOADER)

    def top(self) -> Node | None:
        """Return the only document's node; anything but a mapping leaves a problem."""
        node: Node | None = None
        for event in self._events:
            if isinstance(event, DocumentStartEvent):
                if node is not None:
                    self._refuse(event, "---", "begins a second document", "Keep one per file.")
                    break
                node = self._node(next(self._events))
        if node is None or node == Scalar("", node.line, quoted=False):
            self.problems.append(Problem("", "", "The file is empty", _NAMED_FIELDS, self._file))
        elif not isinstance(node, Mapping):
            value = shown(node.text) if isinstance(node, Scalar) else "- ..."
            message = "is not a set of named fields"
            self.problems.append(Problem("", value, message, _NAMED_FIELDS, self._file, node.line))
        return node

    def _refuse(self, event: Event, value: str, message: str, remedy: str) -> Problem:
        problem = Problem(field(*self.path), shown(value), message, remedy, self._file, _line(event))
        self.problems.append(problem)
        return problem

    def _node(self, event: Event) -> Node:
        self._count += 1
        if self._count > MAX_NODES:
            message = f"The file holds more than {MAX_NODES:,} values"
            raise SheetError(self._refuse(event, "", message, "Split the file."))
        if isinstance(event, ScalarEvent):
            return self._scalar(event)
        if isinstance(event, AliasEvent):
            self._refuse(event, f"*{event.anchor}", "refers to another place", _WRITE_OUT)
            return Scalar("", _line(event), quoted=True)
        self._refuse_marks(event)
        if self._depth == MAX_DEPTH:
            raise SheetError(self._refuse(event, "", TOO_DEEP, FLATTEN))
        self._depth += 1
        is_list = isinstance(event, SequenceStartEvent)
        node = self._sequence(_line(event)) if is_list else self._mapping(_line(event))
        self._depth -= 1
        return node

    def _refuse_marks(self, event: Event) -> None:
        if (anchor := getattr(event, "anchor", None)) is not None:
            self._refuse(event, f"&{anchor}", "is an anchor", _WRITE_OUT)
        if (tag := getattr(event, "tag", None)) is not None:
            self._refuse(event, tag, "is a type mark", _WRITE_OUT)

    def _scalar(self, event: ScalarEvent) -> Scalar:
        text, style = event.value, event.style
        if event.anchor is not None or event.tag is not None:
            self._refuse_marks(event)
        if style:
            text = self._quoted_text(event)
        return Scalar(text, _line(event), bool(style))

    def _quoted_text(self, event: ScalarEvent) -> str:
        if event.style in ("|", ">") and not event.value:
            message = "begins a value that holds no text"
            self._refuse(event, event.style, message, "Put a value such as '>5 V' in quotes.")
        if event.style == '"' and (bad := FORBIDDEN.search(event.value)):
            self._refuse(event, code_point(bad), "is a character that a sheet cannot hold", DELETE_IT)
            return FORBIDDEN.sub(code_point, event.value)
        return event.value

    def _sequence(self, line: int) -> Sequence:
        items: list[Node] = []
        while not isinstance(event := next(self._events), SequenceEndEvent):
            self.path.append(len(items))
            items.append(self._node(event))
            self.path.pop()
        return Sequence(tuple(items), line)

    def _mapping(self, line: int) -> Mapping:
        entries: list[tuple[Scalar, Node]] = []
        seen: dict[str, Event] = {}
        while not isinstance(event := next(self._events), MappingEndEvent):
            key = self._key(event)
            self.path.append(key.text if key else "?")
            if key and (first := seen.setdefault(key.text, event)) is not event:
                lines = _both_lines(first, event)
                message = f"is given twice, on {lines}"
                self._refuse(event, key.text, message, "Keep one of them.")
            value = self._node(next(self._events))
            self.path.pop()
            if key:
                entries.append((key, value))
        return Mapping(tuple(entries), line)

    def _key(self, event: Event) -> Scalar | None:
        """Return the name, or None with a problem when it is not plain text."""
        node = self._node(event)
        remedy = "Write 'name: value'; put a name that begins with [ { or ? in quotes."
        if isinstance(event, AliasEvent):
            return None
        if not isinstance(node, Scalar):
            self._refuse(event, "", "A field's name is a list or a set of fields", remedy)
            return None
        if not node.quoted and not node.text:
            self._refuse(event, "", "A field has no name", remedy)
        if not node.quoted and node.text == "<<":
            self._refuse(event, "<<", "merges another place into this one", _WRITE_OUT)
        return node


def write_document(data: object) -> str:
    """Return YAML text that `read_document` reads back to the same names and texts.

    Parameters
    ----------
    data
        A dict of dicts, lists and texts; their order is kept. Lists of texts, and mappings of
        texts and such lists, stand on one line where they fit.

    Raises
    ------
    SheetError
        When a text or the size of the whole is such as `read_document` refuses.
    TypeError
        When `data` is no dict, or holds anything but dicts, lists and texts.
    """
    if not isinstance(data, dict):
        raise TypeError(f"a document is a dict, not {type(data).__name__}")
    text = "".join(f"{line}\n" for line in yaml_lines(data))
    try:
        read_document(text, file="")
    except SheetError as error:
        # The lines are of a text that nobody has seen.
        raise SheetError(*(replace(p, line=0) for p in error.problems)) from None
    return text

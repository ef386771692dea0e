"""Dicts, lists and texts laid out as YAML: short things on one line, quotes only where needed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from backprobe.errors import Problem, SheetError
from backprobe.sheet.yaml_messages import CONTROLS, FLATTEN, MAX_DEPTH, TOO_DEEP

LINE_WIDTH = 100

# What a plain text cannot begin with, end with or hold. Inside brackets more is taken, and the
# pure-Python parser stops at a question mark there.
_NOT_PLAIN = r"\A(?:[\s,\[\]{}#&*!|>'\"%@`?:]|-\s|-?\Z|---|\.\.\.|<<\Z)|:(?:\s|\Z)|\s#|\s\Z"
_NOT_PLAIN_IN_BLOCK = re.compile(_NOT_PLAIN)
_NOT_PLAIN_IN_FLOW = re.compile(_NOT_PLAIN + r"|[,\[\]{}?]")
_NEEDS_ESCAPE = re.compile(f"[{CONTROLS}\n\r\t\u2028\u2029]")
_ESCAPED = re.compile(f'[{CONTROLS}\n\r\t\u2028\u2029"\\\\]')


def yaml_lines(data: dict[Any, Any]) -> Iterator[str]:
    """Yield the lines of a whole document, without line ends.

    Raises
    ------
    SheetError
        When `data` is nested too deep.
    TypeError
        When `data` holds anything but dict, list and str.
    """
    return _block(data, 0) if data else iter(["{}"])


def _block(data: list[Any] | dict[Any, Any], indent: int) -> Iterator[str]:
    """Yield the lines of a list or mapping, one entry after the other."""
    if indent >= 2 * MAX_DEPTH:
        raise SheetError(Problem("", "", TOO_DEEP, FLATTEN))
    pad = " " * indent
    if isinstance(data, list):
        for item in data:
            flow = _inline(item, LINE_WIDTH - indent - 2)
            first, *rest = _block(item, indent + 2) if flow is None else [flow]
            yield f"{pad}- {first.lstrip(' ')}"
            yield from rest
    else:
        for key, value in data.items():
            name = _scalar(key, _NOT_PLAIN_IN_BLOCK)
            # YAML takes a name before a colon only up to 1,024 characters.
            if len(name) > LINE_WIDTH:
                yield f"{pad}? {name}"
                name = ""
            flow = _inline(value, LINE_WIDTH - indent - len(name) - 2)
            yield f"{pad}{name}:" if flow is None else f"{pad}{name}: {flow}"
            if flow is None:
                yield from _block(value, indent + 2)


def _inline(value: object, room: int) -> str | None:
    """Return `value` as the rest of a line, or None when it needs lines of its own."""
    if isinstance(value, str):
        return _scalar(value, _NOT_PLAIN_IN_BLOCK)
    if not isinstance(value, dict | list):
        raise TypeError(f"a document holds dict, list and str, not {type(value).__name__}")
    flow = _flow(value) if len(value) <= room or not value else None
    return flow if flow is not None and (len(flow) <= room or not value) else None


def _flow(value: object) -> str | None:
    """Return a text, a list of texts or a mapping of these in brackets; None for the rest."""
    if isinstance(value, str):
        return _scalar(value, _NOT_PLAIN_IN_FLOW)
    if isinstance(value, list) and all(isinstance(item, str) for item in value):
        return f"[{', '.join(_scalar(item, _NOT_PLAIN_IN_FLOW) for item in value)}]"
    if isinstance(value, dict) and not any(isinstance(v, dict) for v in value.values()):
        pairs = [(_scalar(key, _NOT_PLAIN_IN_FLOW), _flow(v)) for key, v in value.items()]
        if not any(flow is None for _, flow in pairs):
            return f"{{{', '.join(f'{key}: {flow}' for key, flow in pairs)}}}"
    return None


def _scalar(text: object, not_plain: re.Pattern[str]) -> str:
    if not isinstance(text, str):
        raise TypeError(f"a name in a document is a str, not {type(text).__name__}")
    if _NEEDS_ESCAPE.search(text):
        return f'"{_ESCAPED.sub(_escape, text)}"'
    return "'{}'".format(text.replace("'", "''")) if not_plain.search(text) else text


def _escape(match: re.Match[str]) -> str:
    return {"\n": "\\n", "\t": "\\t"}.get(match[0], f"\\u{ord(match[0]):04x}")

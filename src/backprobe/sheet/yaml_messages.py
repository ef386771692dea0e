"""What is wrong with a text as YAML, said in a mechanic's words."""

from __future__ import annotations

import re

from backprobe.errors import Problem

MAX_BYTES = 1_000_000
MAX_DEPTH = 20
TOO_DEEP = f"Fields are nested more than {MAX_DEPTH} deep"
FLATTEN = "Use fewer levels."
DELETE_IT = "Delete it (it may be invisible) and save the file as UTF-8 without a mark."

# Never welcome, not even escaped: controls, byte-order mark, non-characters, lone surrogates.
CONTROLS = "\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufeff\ufffe\uffff"
FORBIDDEN = re.compile(f"[{CONTROLS}\ud800-\udfff]")
# YAML 1.1 ends a line at U+2028 and U+2029, an editor does not: unescaped they shift all lines.
_FORBIDDEN_RAW = re.compile(f"[{CONTROLS}\ud800-\udfff\u2028\u2029]")
_TAB_INDENT = re.compile(r"^ *\t.*", re.M)
_DIRECTIVE = re.compile(r"^%.*", re.M)

_AT_ERROR, _AT_OPENING = "problem_mark", "context_mark"
_INDENT = "Indent all lines of one group by the same number of spaces; nothing follows a closing"

# Both parsers of PyYAML word the same complaint differently; each pattern meets both wordings.
# The opening of a bracket or quote is where a person looks, so such problems point there.
_COMPLAINTS = tuple(
    (re.compile(pattern), where, message, remedy)
    for pattern, where, message, remedy in (
        (
            "expected ':'",
            _AT_OPENING,
            "has no colon and space between a name and its value",
            "Write 'name: value'.",
        ),
        (
            "mapping values are not allowed",
            _AT_ERROR,
            "has a colon and space where no name can stand",
            "Put a text that holds ': ' in quotes, or line the line up with its neighbours.",
        ),
        (
            "sequence entries are not allowed",
            _AT_ERROR,
            "begins a list with '- ' where none can begin",
            "Write the list as [a, b], or put each '- ' on a line of its own below the name.",
        ),
        (
            "mapping keys are not allowed",
            _AT_ERROR,
            "begins a value with '? '",
            "Put the value in quotes.",
        ),
        (
            "',' or '\\]'",
            _AT_OPENING,
            "opens a list with '[' that is not finished",
            "Part the items with commas, close with ']', and quote items that hold a bracket or ': '.",
        ),
        (
            "',' or '}'",
            _AT_OPENING,
            "opens a set of fields with '{' that is not finished",
            "Part the fields with commas, close with '}', and quote a text with a bracket or ': '.",
        ),
        (
            "node content",
            _AT_ERROR,
            "lacks a value, or a bracket is not closed before it",
            "Close each [ and {, put one value between two commas, and quote a value that begins with "
            "a bracket or comma.",
        ),
        (
            "unexpected end of stream",
            _AT_OPENING,
            "opens a quote that is never closed",
            "Close the quote; write '' for an apostrophe inside single quotes.",
        ),
        (
            "unexpected document",
            _AT_OPENING,
            "opens a quote that is not closed before a line of --- or ...",
            "Close the quote on its own line.",
        ),
        (
            "escape|hexdecimal|hexadecimal",
            _AT_ERROR,
            "has a backslash in double quotes with no meaning behind it",
            "Use single quotes, or write \\\\ for one backslash.",
        ),
        (
            "comment or |chomping|indentation indicator",
            _AT_OPENING,
            "begins a value with > or |",
            "Put the value in quotes.",
        ),
        (
            "alphabetic",
            _AT_OPENING,
            "begins a value with * or &",
            "Put the value in quotes.",
        ),
        (
            "(?:scanning|parsing) a tag|tag handle",
            _AT_OPENING,
            "begins a value with !",
            "Put the value in quotes.",
        ),
        (
            "expected key|block end|document start|'-' indicator",
            _AT_ERROR,
            "does not belong to the lines above it",
            f"{_INDENT} quote or bracket.",
        ),
    )
)
_UNKNOWN = ("cannot be read", "Check the indentation, colons, quotes and brackets near it.")


def raw_problems(text: str, *, file: str) -> list[Problem]:
    """Return what is wrong with the characters of `text`, whatever their structure.

    Each kind of trouble is named once, at its first line, with the number of others like it.
    """
    if len(text.encode("utf-8", "surrogatepass")) > MAX_BYTES:
        remedy = "A sheet describes one circuit; split the file."
        return [Problem("", "", "The file is larger than 1 MB", remedy, file)]
    looks = (
        (_FORBIDDEN_RAW, "is a character that a sheet cannot hold", DELETE_IT),
        (_TAB_INDENT, "is indented with a tab", "Indent with spaces only."),
        (_DIRECTIVE, "begins with % and so is no field", "Remove it, or put the name in quotes."),
    )
    problems = []
    for pattern, message, remedy in looks:
        if first := pattern.search(text):
            more = sum(1 for _ in pattern.finditer(text)) - 1
            tail = f" ({more} more like it below)" if more else ""
            line = text.count("\n", 0, first.start()) + 1
            value = code_point(first) if pattern is _FORBIDDEN_RAW else shown(first[0])
            problems.append(Problem("", value, message + tail, remedy, file, line))
    return problems


def code_point(match: re.Match[str]) -> str:
    """Return a visible name, such as ``U+0007``, for a character that has no picture."""
    return f"U+{ord(match[0]):04X}"


def shown(text: str) -> str:
    """Return `text` as one short line for a message, which any screen can print."""
    flat = FORBIDDEN.sub(code_point, " ".join(text.split()))
    return flat if len(flat) <= 60 else flat[:57] + "..."


def syntax_problem(error: BaseException, text: str, *, file: str, path: str) -> Problem:
    """Return the problem that the parser's `error` stands for, without any of its wording.

    Parameters
    ----------
    error
        What the parser raised.
    text
        The whole file, with plain line ends.
    file, path
        Where it was met: name of the file and dotted path of the field around it.
    """
    said = f"{getattr(error, 'context', '')} {getattr(error, 'problem', '')}"
    if isinstance(error, ValueError | OverflowError):
        said = "escape beyond Unicode"
    # The compiled parser looks ahead and meets a thousand open brackets before they are counted.
    if "nesting depth" in said or isinstance(error, RecursionError | MemoryError):
        line, _ = _place(getattr(error, _AT_ERROR, None), text)
        return Problem(path, "", TOO_DEEP, FLATTEN, file, line)
    where, (message, remedy) = _AT_ERROR, _UNKNOWN
    if "cannot start any token" in said:
        message, remedy = _bad_start(text, error)
    for pattern, place, plain, cure in _COMPLAINTS:
        if pattern.search(said):
            where, message, remedy = place, plain, cure
            break
    line, value = _place(getattr(error, where, None) or getattr(error, _AT_ERROR, None), text)
    if where == _AT_OPENING or "node content" in said:
        message, remedy = _unclosed(text, line) or (message, remedy)
    if value == ":" or value.startswith(": "):
        message, remedy = "has no name before the colon", "Write 'name: value'."
    return Problem(path, value, message, remedy, file, line)


def _unclosed(text: str, line: int) -> tuple[str, str] | None:
    """Message and remedy for a line that opens more brackets than it closes; None for any other line."""
    lines = text.split("\n")
    written = lines[line - 1] if 0 < line <= len(lines) else ""
    for opening, closing, what in (("[", "]", "list"), ("{", "}", "set of fields")):
        if written.count(opening) > written.count(closing):
            return f"has a '{opening}' without its closing bracket", f"Put '{closing}' where the {what} ends."
    return None


def _bad_start(text: str, error: BaseException) -> tuple[str, str]:
    """Return message and remedy for a character that begins nothing in YAML."""
    mark = getattr(error, _AT_ERROR)
    start = text.split("\n")[mark.line][mark.column]
    if start == "\t":
        return "has a tab where spaces belong", "Use spaces only."
    return f"begins a value with {start}", "Put the value in quotes."


def _place(mark: object, text: str) -> tuple[int, str]:
    """Return line number and text of a mark; the end of the file is its last written line."""
    if mark is None:
        return 0, ""
    lines = text.rstrip().split("\n")
    index: int = min(getattr(mark, "line", 0), len(lines) - 1)
    return index + 1, shown(lines[index])

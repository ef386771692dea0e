"""What stays on one line of a page: a number with its unit, and the name of a point such as ``C12-3``.

A number is kept by a blank that does not break. A name keeps its plain hyphen, so that it can be searched for
and copied into a reading; a ``span`` around it keeps it together.
"""

from __future__ import annotations

import re

UNIT = r"(\d) (?=[kMm\u00b5]?(?:\u03a9|ohm|V|A|W|Ah)\b|min\b|%|\u20ac)"
"""A number before its unit; its last digit is the group."""
_NAME = r"(?<![\w-])(?=[\w-]*\d)\w{1,10}(?:-\w{1,6}){1,2}(?![\w-])"
"""A connector and its cavity, and whatever else is written like one: a date, ``5-pin``."""
_NUMBER = UNIT.replace("(", "(?P<number>", 1)
_IN_TEXT = re.compile(_NUMBER)
_IN_CODE = re.compile(_NAME)
_OTHERS = re.compile("<(?:select|textarea|svg|pre|code)")
"""What is not looked into where it stands inside of a button or a label."""
_BOXED = re.compile(r"(?<=>)[^<>]+|^[^<>]+")
_ON_PAGE = re.compile(
    r"<(?P<whole>textarea|script|style|pre|svg|option)\b.*?</(?P=whole)>"
    r"|<(?P<plain>title)\b[^>]*>.*?</(?P=plain)>"
    r"|<code\b(?P<code>[^>]*)>(?P<typed>[^<>]*)</code>"
    r"|<(?P<boxed>button|summary|label|a)\b(?P<inner>[^>]*>.*?)</(?P=boxed)>"
    rf"|<[^>]*>|{_NUMBER}|(?P<name>{_NAME})",
    re.DOTALL,
)


def kept_together(made: str) -> str:
    """A page on which no line ends inside a point's name or between a number and its unit.

    What is typed or copied stays as it is.
    """
    # Tags and fields are found first, and put back as they are.
    return _ON_PAGE.sub(_kept, made)


def _kept(found: re.Match[str]) -> str:
    if found["number"]:
        return f"{found['number']}\u00a0"
    if found["name"]:
        return _named(found)
    if found["plain"]:
        # No markup is allowed in it, and its lines are not ours to break.
        return _IN_TEXT.sub("\\1\u00a0", found[0])
    if found["typed"]:
        return f"<code{found['code']}>{_IN_CODE.sub(_named, found['typed'])}</code>"
    if found["boxed"]:
        opened, _, inner = found["inner"].partition(">")
        if not _OTHERS.search(inner):
            return f"<{found['boxed']}{opened}>{_BOXED.sub(_in_box, inner)}</{found['boxed']}>"
    return found[0]


def _in_box(found: re.Match[str]) -> str:
    """A text in what lays out its children in a row: it stays one child, so that no blank in it is lost."""
    text = kept_together(found[0])
    return f"<span>{text}</span>" if "<" in text else text


def _named(found: re.Match[str]) -> str:
    return f'<span class="kept">{found[0]}</span>'

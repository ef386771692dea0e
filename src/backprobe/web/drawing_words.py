"""The texts of a drawing in the reader's language: what it is, what its parts are, when a switch is shut."""

from __future__ import annotations

import html
import re

from backprobe.web.decimals import svg_with_comma
from backprobe.web.texts import Texts

_TEXT = re.compile(r"(?<=>)[^<>]+(?=<)")
_OR = re.compile(r"\bor$")
_TITLE = re.compile(r"(?P<name>.+) \((?P<kind>[\w -]+)\)(?P<closed>, closed with .+)?")


def drawing_words(svg: str, spoken: Texts) -> str:
    """A drawing with its texts so; names of parts stay as the sheet has them."""
    told = _TEXT.sub(lambda found: html.escape(_words(html.unescape(found[0]), spoken)), svg)
    return svg_with_comma(told, spoken.decimal_comma)


def _words(text: str, spoken: Texts) -> str:
    if title := _TITLE.fullmatch(text):
        closed = spoken.said(title["closed"] or "")
        return f"{title['name']} ({spoken.gettext(title['kind'])}){closed}"
    if text.startswith("closed: "):
        # A line that was broken may end in the joint.
        return _OR.sub(spoken.said("or"), spoken.said(text))
    return spoken.said(text) if text.endswith(".") else text

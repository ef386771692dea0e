"""Other ways to say the same: what is written beside a machine, in the words that the reader knows.

Only wording is changed here, never a number, a name or what was left out. What could mean two
things is not touched, so that the reader asks.
"""

from __future__ import annotations

import re

from backprobe.readings.points import find_part
from backprobe.sheet.model import Control, Sheet

DECIMAL_COMMA = re.compile(r"(?<![\w.-])\d+,\d+\s?(?:[mkM]?[VvAR\u03a9]|volts?|ohms?|amps?)?(?![\w.:-])")
"""A number with a comma where the trade writes a point; a comma also ends a part of the line."""
BARE_NUMBER = re.compile(r"^(.*?\S)[\s:]+((?:about\s+)?-?\d+(?:\.\d+)?)$", re.I)
_PLUG_WORD = re.compile(
    r"\s+(un)?(plugged|pulled|lifted|removed|fitted|(dis)?connected|on|off|in|out|back)$", re.I
)
_NOT = r"(?:will not|won't|wont|does not|doesn't|doesnt|do not|don't|dont|cannot|can't|cant)"
_ACT = r"(?:work|crank|start|run|go|move|turn|engage|lift|lower|drive|pull in|come on)"
_POINT = r"[^,;]+?"
_END = r"(?=[,;]|$)"
_THERE = r"^(?:there\s+(?:is|was)\s+|got\s+|have\s+)?"
_NUMBER = r"[-+]?\d[\d.]*\s?[mk]?(?:V|volts?|ohms?|\u03a9)"
_PHRASES: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern, re.I), plain)
    for pattern, plain in (
        # Checks are printed as "red on A, black on B"; they may be typed back so.
        (
            rf"^(?:volts|ohms)?:?\s*red\s+(?:on\s+|at\s+)?({_POINT}),?\s+black\s+(?:on\s+|at\s+)?"
            rf"({_POINT})(?::|\s+is|\s*=)?\s+(about\s+\S.*|[-+.\d]\S*.*|OL\b.*)$",
            r"\1 to \2: \3",
        ),
        (r"^(\S.*? to \S.*?)\s*(?:=|\s(?:is|was|reads|shows))\s*(?=[-+.\d]|about\s|OL\b)", r"\1: "),
        # A number said before its place, and no number at all.
        (
            rf"{_THERE}(?:no|zero)\s+(?:voltage|volts|power|juice)\s+(?:at|on|between)\s+({_POINT}){_END}",
            r"\1: 0 V",
        ),
        (rf"{_THERE}({_NUMBER})\s+(?:at|on|between)\s+({_POINT}){_END}", r"\2: \1"),
        (rf"{_THERE}({_NUMBER})\s+(?=(?:drop\s+)?across\s)({_POINT}){_END}", r"\2: \1"),
        (rf"^({_POINT})\s+(?:has|shows)\s+no\s+(?:voltage|volts|power){_END}", r"\1: 0 V"),
        (rf"{_THERE}no\s+(?:continuity|connection)\s+(?:at|on|from|between)?\s*({_POINT}){_END}", r"\1: OL"),
        (rf"{_THERE}(?:continuity|beeps?)\s+(?:at|on|from|between)?\s*({_POINT}){_END}", r"\1: beeps"),
        (rf"^({_POINT}):?\s+(?:has\s+)?no\s+continuity{_END}", r"\1: OL"),
        (rf"^({_POINT}):?\s+(?:has\s+)?continuity{_END}", r"\1: beeps"),
        (rf"^([^,;:]+?)\s+and\s+([^,;:]+?):\s*((?:{_NUMBER}|OL|beeps){_END})", r"\1 to \2: \3"),
        (rf"([-+]?\d[\d.]*\s?\S*?)\s+or\s+so{_END}", r"about \1"),
        (r"\btest[ -]?(?:light|lamp)(?:\s+(?:on|at|from))?\b", "test lamp"),
        (r"^(test lamp .*?)\s+(?:lights(?: up)?|on|glows)(?=[,;]|$)", r"\1 lit"),
        (r"^(test lamp .*?)\s+(?:off|out|stays dark)(?=[,;]|$)", r"\1 dark"),
        (r"\b(?:flashes|blinks)\s+(\d+)(?:\s+times)?(?=[,;]|$)", r"\1 flashes"),
        (r"\b(\d+)\s+blinks(?=[,;]|$)", r"\1 flashes"),
        (rf"\s+{_NOT}\s+click(?=[,;]|$)", " does not click"),
        (rf"\s+(?:{_NOT}\s+{_ACT}|stays (?:dead|locked))(?=[,;]|$|\s+on\s+an?\s)", " dead"),
        (r"^((?:swapped|replaced|changed)\s+[^,;]+?)[,;]\s*(no change|works now|still dead)", r"\1 \2"),
        (r"^(look(?:ed)? at\s+.*?):?\s+blown(?=[,;]|$)", r"\1 broken"),
        (r"^(look(?:ed)? at\s+.*?):?\s+ok(?:ay)?(?=[,;]|$)", r"\1 fine"),
    )
)


def plain_words(line: str) -> str:
    """A reading line in the words that the reader knows; unknown wording is left as it is.

    Parameters
    ----------
    line
        As typed, blanks folded.
    """
    said = line.replace("\u2019", "'")
    for pattern, plain in _PHRASES:
        said = pattern.sub(plain, said)
    return said


def plain_state(segment: str) -> str:
    """An operator state without filler: ``gate is shut`` is ``gate shut``, the ignition is the key."""
    said = re.sub(r"^(?:with|and)\s+", "", segment, flags=re.I)
    said = re.sub(r"\s+(?:is|was|in)\s+", " ", said, flags=re.I)
    return re.sub(r"^(?:the\s+)?ignition\b", "key", said, flags=re.I)


def two_leads(place: str) -> str:
    """A place with both leads, for a remedy: the battery's minus where only one was named."""
    return place if " to " in place else f"{place} to battery-"


def control_asked(segment: str, sheet: Sheet) -> Control | None:
    """The control that a segment speaks of, when it is none of its positions and no plug either.

    ``seat on`` may be the operator or the plug: asked about. ``seat switch unplugged`` is a plug.
    """
    said = plain_state(segment)
    for control in sheet.controls.values():
        if said.lower().startswith(control.name.lower() + " "):
            plug = _PLUG_WORD.search(said)
            name = said[: plug.start()] if plug else ""
            either = (
                name.lower() == control.name.lower()
                and plug
                and plug[2].lower() in {"on", "off", "in", "out"}
            )
            return control if either or not (name and find_part(name, sheet)) else None
    return None

"""Sayings of the yard, turned into the plain words of a claim before it is read.

Each is common practice, no source: what people call a thing, not what they should do. What a saying would do
is found by acting it out like any other claim.
"""

from __future__ import annotations

import re
from collections.abc import Callable

_LEADS = r"(?:paper\s?-?clips?|hair\s?-?pins?|staples?|(?:jumper|jump)\s+(?:wire|lead|cable)s?|jumpers?|"
_LEADS += r"(?:bit|piece|length)s? of (?:bare )?wire|(?:tin|kitchen|aluminium)? ?foil|bent nail|nail)"
_PUT = r"(?:put|stick|stuff|push|shove|poke|use|fit|run|jam|wedge|clip)"
_WEIGHT = (
    r"(?:(?:bag|sack|bucket|block|lump)s? of \w+|sand\s?bags?|bags?|sacks?|bricks?|stones?|rocks?|weights?|"
    r"tool\s?box(?:es)?|(?:cinder )?blocks?|spare wheel|something heavy)"
)
_TIES = (
    r"(?:cable|zip|nylon|wire)[- ]?ties?|ties?|straps?|ratchet straps?|strings?|ropes?|bungees?|"
    r"bungee cords?|rubber bands?|elastic bands?|(?:duct |electrical |insulating )?tape|wire|wedges?|sticks?|"
    r"screwdrivers?|magnets?|clamps?"
)
_TAPES = (
    r"(?:cable|zip|nylon)[- ]?ties?|rubber bands?|elastic bands?|bungees?|magnets?|"
    r"(?:duct |electrical |insulating )?tape"
)
_CLEANER = r"(?:(?:contact|electrical|brake|switch) (?:cleaner|spray)|penetrating oil|cleaner|spray)"
_ENDS = r"(?:in|into|in to|across|between|over|through|on|onto|to|from|instead of)"
_TEXT = r"(?P<rest>.+?)"


def _lead(match: re.Match[str]) -> str:
    rest = (match["rest"] or "").strip()
    if re.fullmatch(r"(?:the |its |a )?(?:fuse|fuse ?holder|fuse ?box)(?: \w+)?", rest, re.I):
        return f"bridge {re.sub(r' ?(?:holder|box)', '', rest, flags=re.I)}"
    if not rest or re.fullmatch(r"(?:the |its )?(?:plug|connector|pins?|holes?|it|them|harness)", rest, re.I):
        return "join two of them"
    if re.fullmatch(r"(?:the )?(?:plug |connector )?[A-Z]+\d+", rest, re.I):
        return f"join two of {rest.split()[-1]}"
    return f"join {rest}"


def _tied(match: re.Match[str]) -> str:
    return f"tie {match['rest']} down"


_RULES: tuple[tuple[str, str | Callable[[re.Match[str]], str]], ...] = (
    # A lead of any sort between two pins.
    (rf"^{_PUT}\s+(?:an?\s+|some\s+|the\s+)?{_LEADS}\s*(?:{_ENDS}\b\s*{_TEXT})?(?:\s+in)?$", _lead),
    (r"^(?:hot[- ]?wire|jump)\s+it$", "bridge it"),
    (
        r"^(?:wrap|roll)\s+(?P<rest>(?:the\s+)?(?:blown\s+)?fuse.*?)\s+(?:in|with)\s+.*(?:foil|paper|wire)$",
        lambda m: f"bridge {m['rest']}",
    ),
    # What holds a switch or a sensor where it is.
    (
        rf"^(?:put|set|lay|leave|place|drop|strap)\s+(?:an?\s+|the\s+|some\s+)?{_WEIGHT}\s+(?:on|onto|against)"
        rf"\s+{_TEXT}$",
        _tied,
    ),
    (
        rf"^(?:hold|keep|fix|secure|fasten|tie|strap|pin|clamp)\s+(?:down\s+)?{_TEXT}(?:\s+(?:down|shut|in))?\s+"
        rf"(?:by|with|using)\s+(?:an?\s+|some\s+|the\s+)?(?:{_TIES})$",
        _tied,
    ),
    (rf"^(?:put|wrap)\s+(?:an?\s+|some\s+)?(?:{_TAPES})\s+(?:on|to|round|around|over)\s+{_TEXT}$", _tied),
    (rf"^(?:cable|zip)[- ]?tie\s+{_TEXT}(?:\s+(?:down|shut|up|in))?$", _tied),
    # Cleaning by any name.
    (
        rf"^(?:spray|squirt|put|use|try|give)\s+(?:it\s+)?(?:some\s+|a bit of\s+|a\s+)?{_CLEANER}"
        rf"(?:\s+(?:in|into|on|onto|at)\s+{_TEXT})?$",
        lambda m: f"clean {m['rest'] or 'it'}",
    ),
    (rf"^spray\s+{_TEXT}\s+(?:out\s+)?with\s+.*$", lambda m: f"clean {m['rest']}"),
    (
        rf"^(?:blow|dry|wash|wipe|scrape|sand|file|polish)\s+(?:out\s+|off\s+)?{_TEXT}(?:\s+(?:out|off))?$",
        lambda m: f"clean {m['rest']}",
    ),
    (
        rf"^(?:give|clean)\s+{_TEXT}\s+(?:a (?:good )?(?:clean|wipe)|up|out|off)$",
        lambda m: f"clean {m['rest']}",
    ),
    # A ground of its own.
    (
        rf"^(?:run|add|put(?: on| in)?|fit|make)\s+(?:an?\s+)?(?:(?:new|extra|better|separate)\s+)?"
        rf"(?:ground|earth)(?:\s+(?:wire|strap|lead|cable))?\s+(?:to|on|at|from)\s+{_TEXT}$",
        lambda m: f"join {m['rest']} to frame",
    ),
    (
        r"^(?:run|add|put(?: on| in)?|fit|make|it wants|bad)\s+(?:an?\s+)?(?:(?:new|extra|better|bad)\s+)?"
        r"(?:ground|earth)s?(?:\s+(?:wire|strap|lead|cable))?$",
        "clean the grounds",
    ),
    # Fuses.
    (r"^(?:up|uprate|beef up)\s+(?:the\s+)?fuse$", "bigger fuse"),
    (
        r"^(?:put|fit|try|use)\s+(?:an?\s+)?(?P<rest>bigger|larger|heavier|stronger)\s+one\s+in$",
        "bigger fuse",
    ),
)
_TABLE = tuple((re.compile(p, re.I), r) for p, r in _RULES)
_OFF_AND = re.compile(
    r"^(?:pull|unplug|disconnect|take off|open)\s+(?P<what>.+?)(?:\s+(?:off|out))?\s+(?:and then|and|then)\s+"
    r"(?P<rest>(?:join|bridge|jump|jumper|short|connect|link|twist|bypass|clean|spray|dry|blow|wipe|put|stick|"
    r"stuff|feed|give)\b.*)$",
    re.I,
)
_PLUG = re.compile(r"^(?:the\s+|its\s+)?(?:plug|connector|it|sensor|switch)$", re.I)
RESET = re.compile(
    r"^(?:reset|re-?boot|power[- ]cycle)\b(?!.*\b(?:fuse|breaker)\b)|"
    r"^(?:clear|erase|delete)\s+(?:(?:the|all|its|stored)\s+)*(?:codes?|faults?|errors?|memory)\b|"
    r"^(?:disconnect|unhook|take off|take|pull|lift|isolate|unplug)\s+(?:the\s+)?battery(?:\s*[-+])?"
    r"(?:\s+(?:off|out|for|lead|leads|cable|cables|clamp|terminals?|minus|negative|overnight)\b.*)?$|"
    r"^battery\s+off\b|^(?:turn|switch)\s+(?:it|the key)\s+off and on\b",
    re.I,
)
"""What is done to a machine so that it forgets."""
LOOK = re.compile(r"^(?:check|test|measure|look at|wiggle|inspect|scan|read)\b", re.I)
"""What finds out and mends nothing."""


def plainly(text: str) -> str:
    """A saying in the plain words of a claim; anything else as it is."""
    for pattern, put in _TABLE:
        if match := pattern.match(text):
            return put if isinstance(put, str) else put(match)
    return text


def off_first(text: str) -> tuple[str, str]:
    """What is done after something is unplugged, and what that is: ``pull the plug and join two of them``.

    Returns
    -------
    action, plug
        The action, and the name of what is off; ``*`` for the plug that is meant anyway, empty for none.
    """
    match = _OFF_AND.match(text)
    if match is None:
        return text, ""
    what = match["what"].strip()
    return match["rest"], "*" if _PLUG.match(what) else what

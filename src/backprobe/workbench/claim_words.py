"""Read a proposed cure as people say it; what could mean several things becomes all of them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

from backprobe.errors import Problem, UnitError
from backprobe.readings.line_conditions import PLUGGED, UNPLUGGED, LineConditions
from backprobe.readings.line_names import Parsed
from backprobe.readings.points import find_part
from backprobe.sheet.findings import nearest
from backprobe.sheet.parts import find_state
from backprobe.units import parse_quantity
from backprobe.workbench import claim_cuts, claim_repairs
from backprobe.workbench.claim import Cure, Guarded
from backprobe.workbench.claim_joins import Joins, listed
from backprobe.workbench.claim_names import absent, meant, no_plug, not_fitted, plug_of
from backprobe.workbench.claim_sayings import LOOK, RESET, off_first, plainly
from backprobe.workbench.claims import ClaimError

FORMS = 6
"""Forms that are shown to who was not understood."""
LONGEST = 300
"""Characters of a claim; more is a story."""
_LASTING = re.compile(
    r"[,\s]*\b(?:for good|permanently|for ever|and leave it(?: in| there)?|left in place)\b", re.I
)
_MOMENT = re.compile(
    r"[,\s]*\b(?:for a (?:moment|second|test|check|quick look)|momentarily|briefly|as a (?:test|check)|"
    r"(?:just )?to test(?: it)?)\b",
    re.I,
)
_FILLER = re.compile(
    r"^(?:you (?:can|could|should|must|need to|have to)|just|simply|try(?: to)?|i would|i'd|why not|"
    r"probably|maybe|perhaps|please|then|and|the trick is to|my guess is|i bet|we always|always|"
    r"it needs|it wants|you need|needs|it is|it's|its|that is|that's|must be|it must be|it could be|could be|"
    r"[-*\u2022]|\d+[.)])\s+",
    re.I,
)
_OHMS = r"\d[\d.]*\s*(?:k(?:ilo)?\s?ohms?|kohms?|ohms?|k|\u03a9|k\u03a9|R)\b"
_VALUE = re.compile(_OHMS, re.I)
_WATTS = re.compile(r"\b(\d+/\d+|\d[\d.]*)\s*(?:W|watts?)\b", re.I)
_JOIN = re.compile(
    r"^(?:join|bridg|jumper|jump|short|connect|link|bypass|twist|tie together|run an? (?:new |extra )?wire "
    r"from|paperclip)(?:ing|ed|e)?(?:\s+out|\s+together)?\b\s*(.*)$",
    re.I,
)
_FEED = re.compile(
    r"^(?:feed|put|give|apply|inject|supply|send)\s+(?:(?P<who>it|them|the \w+)\s+)?"
    r"(?P<volts>\d[\d.]*\s*(?:V|volts?)\b|battery(?:\+| volts| voltage| power)?|power)"
    r"(?:\s+(?:to|on|at|into|onto|in))?(?:\s+(?P<point>(?!through\b).+?))??"
    r"(?:\s+through\s+(?P<ohms>.+?))?(?:\s+(?:from|against)\s+(?P<black>.+))?$",
    re.I,
)
_UNPLUG = re.compile(
    r"^(?:unplug|disconnect|pull|take off|leave)\s+(.+?)(?:\s+(?:off|out|unplugged))?$", re.I
)
_HOLD = re.compile(
    r"^(?P<verb>hold|keep|fix|tape|tie|strap|zip[- ]?tie|wedge|jam|glue|clamp|stick|screw|pin)\s+"
    r"(?:down\s+)?(?P<what>.+?)(?:\s+(?:in place|in position|down|shut|closed|up|in|there|"
    r"(?:to|at|on|against|in front of)\s+.+))?$",
    re.I,
)
_FUSE = re.compile(
    r"^(?:(?:fit|put in|put|use|try|install)\s+)?(?:an?\s+)?(?:(?P<amps>\d[\d.]*)\s*(?:A|amps?|amp)\s+|"
    r"(?:bigger|larger|heavier|stronger)\s+)fuse(?:\s+in)?(?:\s+(?:for|in|at|as)\s+(?!it$|there$)(?P<which>.+)|"
    r"\s+(?:it|there))?$",
    re.I,
)
_IT = re.compile(r"^(?:the )?(?:it|them|that|plug|connector|sensor|switch|pins?|wires?|cavities)?$", re.I)
_TWO = re.compile(
    r"^(?:any )?two(?: (?:pins|wires|cavities))?(?: (?:of|in) (?:them|it|the (?:pins|wires|plug)|these|"
    r"(?P<plug>(?:the )?(?:plug )?[A-Z]+\d+)))?$",
    re.I,
)
_ALL = re.compile(
    r"^all(?: (?:three|of them))?(?: of)?(?: (?:the )?(?:pins|cavities|wires))?(?: (?:of|in|at) (.+))?$", re.I
)


class ClaimReader:
    """Reads one claim of a sheet.

    Parameters
    ----------
    text
        The claim, without what says for how long.
    file, line
        Where it stands, for messages.
    """

    def __init__(self, text: str, guarded: Guarded, file: str = "", line: int = 0) -> None:
        self.text = text
        self.guarded, self.sheet = guarded, guarded.sheet
        self.file, self.line = file, line
        self.names = LineConditions(text, guarded.sheet, file, line)
        self.said = Parsed()
        self.joins = Joins(guarded, self.names, self.said)

    def cures(self) -> list[Cure]:
        """Every meaning of the claim; raises ClaimError or ReadingError."""
        if RESET.match(self.text):
            at_posts = "battery" in self.text.lower()
            minds = ("Key off first; minus off first and on last.",) if at_posts else ()
            return [Cure("codes and memory cleared", "reset", minds=minds)]
        action = self._conditions()
        if LOOK.match(action):
            remedy = "Type what it showed as a reading; `backprobe next SHEET` says where the leads go."
            raise self.fail(action, "is a check, not a cure", remedy)
        action, off = off_first(action)
        if off not in {"", "*"}:
            self.names.condition(f"{off} unplugged", self.said)
        spoken, action = action, plainly(action)
        readers: tuple[Callable[[str], list[Cure]], ...] = (
            self._fuse,
            self._resistor,
            self._feed,
            self._join,
            lambda text: claim_cuts.read(text, self.guarded),
            lambda text: claim_repairs.read(text, self.guarded),
            self._hold,
            self._unplug,
            lambda text: claim_repairs.read_bare(text, self.guarded),
        )
        for read in readers:
            if found := read(action):
                # Off first: of a plug that is not named only what is done to it unplugged is meant.
                found = [c for c in found if c.unplugged] or found if off == "*" else found
                return [self._placed(cure) for cure in found]
        raise self._unknown(spoken)

    def _placed(self, cure: Cure) -> Cure:
        state = tuple(sorted(self.said.state.items()))
        return replace(cure, state=state, unplugged=cure.unplugged | frozenset(self.said.unplugged))

    def _conditions(self) -> str:
        """Take operator state and plugs into `said`; what is left is the action."""
        action, *rest = [s.strip() for s in re.split(r"[,;]", self.text) if s.strip()] or [""]
        while cut := re.search(r"\s+(?:with|while|and)\s+(?:the\s+)?((?:(?!\bwith\b).)+)$", action, re.I):
            tail = cut[1]
            plug = (UNPLUGGED.match(tail) or PLUGGED.match(tail)) and "keeper" not in tail.lower()
            if not (find_state(tail, self.sheet.controls) or plug):
                break
            action, rest = action[: cut.start()], [tail, *rest]
        for segment in rest:
            self.names.condition(segment, self.said)
        return action

    def fail(self, value: str, message: str, remedy: str) -> ClaimError:
        """An error placed on this claim."""
        return ClaimError(Problem("claim", value[:80], message, remedy, self.file, self.line))

    def _unknown(self, action: str) -> ClaimError:
        known = forms(self.guarded)
        first = action.split(maxsplit=1)[0].lower() if action.split() else ""
        near = nearest(first, list(known))
        found = [known[w] for w in known if f"'{w}'" in near] if near.startswith("Did") else []
        shown = found or list(dict.fromkeys(known.values()))[:FORMS]
        return self.fail(action, "is not understood", f"Write such as: {'; '.join(shown)}.")

    # --- one method for each form ---------------------------------------------------------

    def _join(self, text: str) -> list[Cure]:
        match = _JOIN.match(text)
        if match is None:
            return []
        ends = match[1].strip()
        if every := _ALL.match(ends):
            at = [self._plug(every[1])] if every[1] else list(self.guarded.plugs)
            return [c for p in at for c in self.joins.all_of(p)]
        two = _TWO.match(ends)
        if two or _IT.match(ends):
            join = self.joins.pairs if two else self.joins.every
            plugs = [self._plug(two["plug"])] if two and two["plug"] else list(self.guarded.plugs)
            found = [c for p in plugs for c in join(p)]
            found = found or [c for p in self.guarded.parts for c in self.joins.bypassed(p)]
            if not found:
                remedy = "Name two points, such as: join battery+ frame."
                raise self.fail(self.text, "names nothing that could be joined here", remedy)
            return found
        return self.joins.of_points(re.sub(r"^(?:the|from)\s+", "", ends, flags=re.I))

    def _resistor(self, text: str) -> list[Cure]:
        value = _VALUE.search(text)
        if not (value and re.search(r"\b(?:between|from|across|over)\b", text, re.I)) and not re.search(
            r"\bresist(?:or|ance)\b", text, re.I
        ):
            return []
        if re.match(r"^(?:feed|give|apply)\b", text, re.I):
            return []
        watts = _WATTS.search(text)
        power = _share(watts[1]) if watts else None
        ends = re.search(r"\b(?:between|from|across|over)\s+(?!it\b|the pins\b|them\b)(.+)$", text, re.I)
        ohms = [self._number(value[0], "ohm")] if value else None
        return self.joins.resistors(ends[1] if ends else "", ohms, power)

    def _feed(self, text: str) -> list[Cure]:
        match = _FEED.match(text)
        if match is None:
            return []
        level = match["volts"].lower()
        volts = None if level.startswith(("battery", "power")) else self._number(match["volts"], "V")
        point = (match["point"] or "").strip()
        if _IT.match(point):
            point = ""
        ohms = self._number(match["ohms"], "ohm") if match["ohms"] else None
        return self.joins.feeds(point, volts, ohms, match["black"] or "")

    def _unplug(self, text: str) -> list[Cure]:
        match = _UNPLUG.match(text)
        if match is None:
            return []
        name = re.sub(r"^the\s+", "", match[1].strip(), flags=re.I)
        if _IT.match(name):
            return [Cure(f"{p} unplugged", "unplug", unplugged=frozenset({p})) for p in self.guarded.plugs]
        found = Parsed()
        known = meant(name, self.guarded)
        several = len(known) > 1 or (known and not find_part(name, self.sheet))
        for each in known if several else [name]:
            if not known and not plug_of(name, self.guarded) and absent(name, self.guarded):
                return [not_fitted(name, self.guarded)]
            if wrong := no_plug(name, self.guarded):
                raise wrong
            self.names.condition(f"{plug_of(each, self.guarded) or each} unplugged", found)
        plugs = found.unplugged <= self.sheet.connectors.keys()
        words = f"{listed(sorted(found.unplugged))} {'unplugged' if plugs else 'taken out'}"
        return [Cure(words, "unplug", unplugged=frozenset(found.unplugged))]

    def _hold(self, text: str) -> list[Cure]:
        match = _HOLD.match(text)
        if match is None:
            return []
        lasting = match["verb"].lower() not in {"hold", "keep"}
        what = re.sub(r"^the\s+", "", match["what"].strip(), flags=re.I)
        parts = self._held(what)
        if not parts:
            return [not_fitted(what, self.guarded)]
        return [
            Cure(f"{p} held as it is with {self._at(p)}", "fix", fixed=(p,), lasting=lasting, touches=(p,))
            for p in parts
        ]

    def _at(self, part: str) -> str:
        """Where the controls that move a part stand when the machine is released."""
        released = self.guarded.released_at
        moving = self.guarded.moved_by.get(part, tuple(released))
        return listed([f"{c} {p}" for c, p in released.items() if c in moving]) or "its guard shut"

    def _held(self, what: str) -> tuple[str, ...]:
        """Guard parts that are meant, none for what is not fitted; raises ClaimError for any other thing."""
        plain = re.sub(
            r"\b(?:target|magnet|plunger|of|its|face|lever|actuator)\b|'s\b", " ", what, flags=re.I
        )
        plain = re.sub(r"^\s*the\s+", "", " ".join(plain.split()), flags=re.I)
        if _IT.match(plain):
            kind = plain.lower() if plain.lower() in {"sensor", "switch"} else ""
            kind = kind or ("sensor" if re.search(r"\b(?:target|magnet)\b", what, re.I) else "")
            kinds = [p for p in self.guarded.parts if kind in self.sheet.parts[p].kind]
            if kinds or self.guarded.parts:
                return tuple(kinds or self.guarded.parts)
            raise self.fail(
                what, "is told by no guard of this sheet", "Name a switch or sensor of the sheet."
            )
        found = [p for p in meant(plain, self.guarded) if p in self.guarded.operated]
        if found or absent(plain, self.guarded):
            return tuple(found)
        known = self.guarded.parts or tuple(self.guarded.operated)
        raise self.fail(what, "is no switch or sensor of this sheet", nearest(plain, known))

    def _fuse(self, text: str) -> list[Cure]:
        match = _FUSE.match(text)
        if match is None:
            return []
        which = self.names.part(match["which"].strip()) if match["which"] else ""
        return claim_repairs.bigger_fuses(
            self.guarded, which, float(match["amps"]) if match["amps"] else None
        )

    # --- names and numbers ----------------------------------------------------------------

    def _plug(self, text: str) -> str:
        if name := plug_of(text, self.guarded):
            return name
        if wrong := no_plug(text, self.guarded):
            raise wrong
        remedy = nearest(text.upper(), self.sheet.connectors) or "It has none: name points or parts."
        raise self.fail(text, "is not a plug of this sheet", remedy)

    def _number(self, text: str, unit: str) -> float:
        try:
            return parse_quantity(re.sub(r"volts?$", "V", text.strip(), flags=re.I), unit=unit).value
        except UnitError as error:
            first = error.problems[0]
            raise self.fail(first.value, first.message, first.remedy) from None


def read_claim(
    text: str, guarded: Guarded, *, lasting: bool | None = None, file: str = "", line: int = 0
) -> tuple[Cure, ...]:
    """Every meaning of a claim.

    Parameters
    ----------
    text
        Such as ``join C2-1 C2-3``, ``unplug C2``, ``it wants a resistor``.
    lasting
        Whether it is left in place; None for what the claim says, for good where it says nothing.

    Raises
    ------
    ClaimError, ReadingError
        Naming the line, the words not understood and the nearest known form.
    """
    plain = " ".join(text.split()).rstrip(".!?")
    if not plain or len(plain) > LONGEST:
        message = "is empty" if not plain else f"is longer than {LONGEST} characters"
        remedy = f"Write one cure, such as: {next(iter(forms(guarded).values()))}."
        raise ClaimError(Problem("claim", plain[:80], message, remedy, file, line))
    moment, good = bool(_MOMENT.search(plain)), bool(_LASTING.search(plain))
    plain = _LASTING.sub("", _MOMENT.sub("", plain)).strip(" ,")
    while filler := _FILLER.match(plain):
        plain = plain[filler.end() :]
    try:
        cures = ClaimReader(plain, guarded, file, line).cures()
    except ClaimError as error:
        raise ClaimError(*(replace(p, file=file, line=line) for p in error.problems)) from None
    said = lasting if lasting is not None else (False if moment else True if good else None)
    return tuple(cures if said is None else (replace(c, lasting=said) for c in cures))


def forms(guarded: Guarded) -> dict[str, str]:
    """First word to an example of each form that is understood, in the sheet's own names."""
    sheet = guarded.sheet
    plug = next(iter(guarded.plugs), "")
    cavities = sheet.connectors[plug].cavities if plug else ()
    one, other = (cavities[0], cavities[-1]) if len(cavities) > 1 else ("battery+", "frame")
    part = next(iter(guarded.parts), next(iter(sheet.parts)))
    join = f"join {one} {other}"
    found = dict.fromkeys(("join", "bridge", "jumper", "short", "connect", "link", "bypass"), join)
    found |= {"unplug": f"unplug {plug}", "disconnect": f"unplug {plug}"} if plug else {}
    found |= {"clean": f"clean {plug or part}", "swap": f"swap {part}", "replace": f"swap {part}"}
    found["bigger"] = "bigger fuse"
    found |= {
        "put": f"put 220 ohm between {one} and {other}",
        "resistor": f"put 220 ohm between {one} and {other}",
    }
    found |= {"feed": f"feed 6 V to {other} through 1k", "give": f"feed 6 V to {other} through 1k"}
    return found | {"hold": "hold the target in place", "align": "clean and realign the target"}


def _share(text: str) -> float:
    over, _, under = text.partition("/")
    return float(over) / float(under or 1)

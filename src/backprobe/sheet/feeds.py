"""What a switch feeds, and when it is closed because of that: PTO off for a starter, PTO on for a clutch."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from backprobe.sheet.runs import Wiring, Written

LOAD, COIL, CONTACT = "load", "coil", "contact"
"""What a stop of a run is, where it matters here: a load, a relay's coil or a relay's contact."""


@dataclass(frozen=True, slots=True)
class Stop:
    """One thing of a run: its part, its words, and whether it is a load or a way through a relay."""

    part: str
    words: str
    role: str


@dataclass(frozen=True, slots=True)
class ByLoad:
    """Positions in which a switch is closed because of its load; no load where none wants it so."""

    closed: tuple[str, ...]
    load: str


# Common practice, no source: an interlock of a starter wants everything at rest; what the same control
# sets to work gets its current with the control at work.
_BLADES = re.compile(r"\b(?:clutch|PTO|blades?|deck|mower|cutters?|knives|knife|rotor)\b", re.IGNORECASE)
_TRAVEL = re.compile(r"\b(?:travel|traction|drive|propel)\b", re.IGNORECASE)
_WORK = {
    "PTO": (_BLADES, "on"),
    "lever": (_TRAVEL, "drive"),
    "pedal": (_TRAVEL, "moved"),
    "brake": (_TRAVEL, "released"),
    "parking brake": (_TRAVEL, "released"),
}
"""Control to the loads that want it at work, and its position then."""
_AT_REST = {"PTO": "off"}
"""Controls whose position is said even where it is the usual one: both are seen on the same machine."""
_SAYS = re.compile(r"\bneutral\b|\bset\b", re.IGNORECASE)
"""A name that says itself when its switch is closed."""


def closed_by_load(name: str, control: str, loads: Iterable[str]) -> ByLoad | None:
    """When a switch is closed after what it feeds; None where its name alone settles it.

    Parameters
    ----------
    loads
        As `loads_behind` gives them.
    """
    if control not in _WORK or _SAYS.search(name):
        return None
    pattern, position = _WORK[control]
    called = list(loads)
    load = next((words for words in called if pattern.search(words)), "")
    if load:
        return ByLoad((position,), load)
    rest = _AT_REST.get(control, "")
    return ByLoad((rest,), "") if rest and called else None


def taken_words(control: str, closed: Iterable[str], load: str) -> str:
    """What was taken, and the question whether it is so."""
    positions = " or ".join(closed)
    if load:
        return f"taken as closed with {control} {positions}, because it feeds {load}. Is that so?"
    return f"taken as closed with {control} {positions}, as before a starter or an engine. Is that so?"


def named_words(control: str, closed: Iterable[str], *, guards: bool) -> str:
    """What was taken from a name that may mean something else, and the question whether it is so."""
    positions, what = " or ".join(closed), "as a guard" if guards else "no guard"
    return f"taken as closed with {control} {positions}, and {what}. Is that so?"


def fed_by(name: str, wiring: Wiring) -> list[str]:
    """What a switch of the runs feeds, while they are read; empty for a switch that is on none."""
    stops = {
        run: [Stop(e.part, _words(e.text.text), _role(e, wiring)) for e in entries if e.part]
        for run, entries in wiring.runs.items()
    }
    return loads_behind(name, stops)


def _words(item: str) -> str:
    """An item without its values."""
    return re.split(r"\s(?=\d)", item)[0]


def _role(entry: Written, wiring: Wiring) -> str:
    kind = wiring.drafts[entry.part].kind
    if kind.name == "relay":
        contact = "contact" in entry.text.passing or entry.terminal in {"30", "87", "87a"}
        return CONTACT if contact else COIL
    return LOAD if kind.load else ""


def loads_behind(name: str, runs: Mapping[str, list[Stop]]) -> list[str]:
    """The loads that share a switch's current, or that a relay feeds whose coil does, in their own words."""
    reached = [run for run, stops in runs.items() if any(s.part == name for s in stops)]
    seen = set(reached)
    loads: dict[str, None] = {}
    for run in reached:
        stops = runs[run]
        loads.update({s.words: None for s in stops if s.role in {LOAD, COIL}})
        coils = {s.part for s in stops if s.role == COIL}
        for other, others in runs.items():
            fed = any(s.part in coils and s.role == CONTACT for s in others)
            branches = bool(others) and others[0].part in {s.part for s in _behind(stops, name)}
            if (fed or branches) and other not in seen:
                seen.add(other)
                # The loop goes on with it.
                reached.append(other)
    return list(loads)


def _behind(stops: list[Stop], name: str) -> list[Stop]:
    """Stops behind a part of a run; all where the run does not pass it."""
    place = next((k for k, s in enumerate(stops) if s.part == name), -1)
    return stops[place + 1 :]

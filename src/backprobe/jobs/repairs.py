"""What was repaired on a job's machine, as the log keeps it, and how a typed repair is read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from backprobe.errors import JobError, Problem
from backprobe.jobs.log import JSON, Entry
from backprobe.readings.model import Reading
from backprobe.readings.points import find_part
from backprobe.sheet.findings import nearest
from backprobe.sheet.model import Sheet

REPAIRED = "repaired"
"""Kind of entry that says what was repaired."""
TRIED, HANDED_ON = "repaired and tried", "handed on"
"""The usual reasons for which a job is closed; any other may be named."""
NOTHING_SAID = "repaired"
LONGEST = 200
"""Longest repair or reason that is taken [characters]."""
EXAMPLE = "brake switch: replaced"


@dataclass(frozen=True, slots=True)
class Repair:
    """One repair of the log.

    Parameters
    ----------
    number
        Of its entry.
    part
        Part, wire or plug of the sheet.
    what
        What was done to it, in the mechanic's words.
    """

    number: int
    part: str
    what: str

    def __str__(self) -> str:
        said = self.what.casefold() != NOTHING_SAID
        return f"{self.part}: {self.what}" if said else self.part


def repair_of(entry: Entry) -> Repair:
    """The repair that an entry holds."""
    return Repair(entry.number, str(entry.data.get("part", "")), str(entry.data.get("what", NOTHING_SAID)))


def read_repair(text: str, sheet: Sheet) -> Mapping[str, JSON]:
    """The data of an entry from what was typed, such as ``brake switch: replaced``.

    Raises
    ------
    JobError
        When nothing was typed, or the sheet has no such part.
    """
    name, _, what = (" ".join(t.split()) for t in text.partition(":"))
    if not name:
        raise JobError(Problem("repaired", "", "names no part", f"Say what was repaired, such as {EXAMPLE}."))
    part = find_part(name, sheet) or next((c for c in sheet.connectors if c.lower() == name.lower()), None)
    if part is None:
        known = (*sheet.parts, *sheet.connectors)
        remedy = nearest(name, known) or f"Name a part of the circuit, such as {EXAMPLE}."
        raise JobError(Problem("repaired", name[:80], "is no part, wire or plug of this sheet", remedy))
    return {"part": part, "what": read_words("repaired", what or NOTHING_SAID)}


def read_words(field: str, text: str) -> str:
    """A few words of the mechanic's for the log.

    Raises
    ------
    JobError
        When there are none, or too many.
    """
    words = " ".join(text.split())
    if not words:
        raise JobError(Problem(field, "", "is empty", f"Say it in a few words, such as {TRIED}."))
    if len(words) > LONGEST:
        raise JobError(Problem(field, words[:40], f"is longer than {LONGEST} characters", "Say it shorter."))
    return words


def in_vain(repairs: tuple[Repair, ...], after: list[Reading]) -> list[Reading]:
    """Readings that repairs stand for where the machine is still dead after them: they were not the cure.

    Parameters
    ----------
    repairs
        Those before `after`.
    after
        Readings made since the last repair.
    """
    dead = next((r for r in after if r.kind == "works" and r.seen == "dead"), None)
    if dead is None:
        return []
    return [
        Reading(
            "swapped", dead.setup, subject=r.part, seen="no change", text=f"{r.part} repaired and still dead"
        )
        for r in repairs
    ]

"""A check as the page shows it, and the lines that its answers are typed as."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.check import Check, Outcome
from backprobe.errors import BackprobeError, Problem
from backprobe.readings.lines import Context
from backprobe.readings.points import Point
from backprobe.report.check_words import (
    NAMES,
    RARE,
    last_setup,
    off_again,
    plug_words,
    shows_words,
    side_words,
    telling_outcomes,
)
from backprobe.report.layout import OVER_RANGE_OHMS, quantity
from backprobe.report.setup_words import latch_words, parts_of
from backprobe.sheet.model import Sheet
from backprobe.web.frame import localised
from backprobe.web.strip import draw_strip, fell_into
from backprobe.web.texts import Texts

UNITS = {"volts": ("V", "mV"), "ohms": ("ohm", "kohm", "Mohm")}
POSTS = frozenset({"battery+", "battery-", "battery+ post", "battery- post", "frame"})
"""What is reached on every machine: not offered as out of reach."""
MOST_OUTCOMES = 6
RANGES = {"volts": (20.0, 200.0), "ohms": (200.0, 2e3, 2e4, 2e5, 2e6)}
"""Ranges of a hand-held meter, as set for a 12 or 24 V machine [V or ohm]; common practice, no source."""
PLUG_OF = "the plug of "
"""How `plug_words` begins where it names a plug's part."""


@dataclass(frozen=True, slots=True)
class Told:
    """One outcome: what it would show, how likely, whom it points to."""

    shows: str
    chance: float
    means: tuple[str, ...]
    more: int
    hit: bool = False


@dataclass(frozen=True, slots=True)
class View:
    """A check for a template.

    Parameters
    ----------
    told, strip
        What it may show and mean; empty where one outcome is as good as sure, which tells nothing.
    start
        Beginning of the line its answer is typed as, before the value.
    words
        Answers that are no number: what the button says, and the line it stands for.
    where
        Setup and line, as the form carries them.
    reach
        What may be out of reach.
    """

    check: Check
    kind: str
    do: str
    setup: tuple[str, ...]
    change: tuple[str, ...]
    told: tuple[Told, ...]
    strip: Markup
    start: str
    words: tuple[tuple[str, str], ...]
    units: tuple[str, ...]
    where: str
    reach: tuple[str, ...]
    dial: str = ""
    """How the meter is set; empty where none is used."""
    plugs: tuple[str, str] = ("", "")
    """Whose plug red and black are at, where their names do not say so."""
    off_again: tuple[str, ...] = ()
    """What comes off the machine again afterwards."""


def view_of(check: Check, answer: Answer, spoken: Texts, local: Callable[[str], str]) -> View:
    """A check in the reader's words."""
    c, sheet = check.candidate, answer.engine.sheet
    bare = Setup(c.setup.state, c.setup.unplugged)
    shown = bare if c.kind == "tester" else c.setup
    last = last_setup(answer)
    needs_setup = c.red is not None
    return View(
        check,
        c.kind,
        do_of(check, spoken, sheet),
        tuple(spoken.said(p) for p in parts_of(shown, sheet)) if needs_setup else (),
        changes(last, bare, sheet, spoken) if last and needs_setup else (),
        *(told_of(check, spoken, local) if telling_outcomes(check) else ((), Markup())),
        line_start(check),
        words_of(check, spoken, battery_volts(answer)),
        UNITS.get(c.kind, ()),
        where_of(check),
        reach_of(check, sheet),
        dial_of(check, sheet.system_volts, spoken),
        (_plug(c.red, sheet, spoken), _plug(c.black, sheet, spoken)),
        tuple(spoken.said(text) for text in off_again(check)),
    )


def dial_of(check: Check, system_volts: float, spoken: Texts) -> str:
    """How the meter is set, for one that does not find its range itself.

    Parameters
    ----------
    system_volts
        Nominal volts of the machine [V]; its alternator gives a quarter more.
    """
    kind = check.candidate.kind
    if kind not in UNITS:
        return ""
    if kind == "volts":
        most, shape = 1.25 * system_volts, spoken.gettext("V DC, {range} or auto")
    else:
        # What is over range shows OL in any of them.
        highs = [o.high for o in check.outcomes if o.chance >= RARE and o.high < OVER_RANGE_OHMS]
        most, shape = max(highs, default=0.0), spoken.gettext("ohms, {range} or auto")
    picked = next((r for r in RANGES[kind] if r >= most), RANGES[kind][-1])
    return shape.format(range=localised(spoken, quantity(picked, {"volts": "V", "ohms": "ohm"}[kind], 1)))


def _plug(point: Point | None, sheet: Sheet, spoken: Texts) -> str:
    if point is None:
        return ""
    name = point.name.removesuffix(f" {point.side} side")
    words = plug_words(name, sheet)
    if words.startswith(PLUG_OF):
        # A note below a point has room for one line and needs no article.
        said = spoken.gettext("plug of {part}").format(part=words.removeprefix(PLUG_OF))
    else:
        said = spoken.said(words)
    # Between two parts either side of the plug could be meant, and over a bad cavity they differ.
    wire = "" if point.side else spoken.said(side_words(name, sheet))
    return ", ".join(w for w in (said, wire) if w)


def battery_volts(answer: Answer) -> float:
    """The battery's volts as they were read last across it, else as the sheet has them [V]."""
    ends = {"battery.+", "battery.-"}
    read = [
        r.value for r in answer.readings.all if r.kind == "volts" and r.numeric and {r.red, r.black} == ends
    ]
    battery = answer.engine.sheet.parts.get("battery")
    known = battery.values.get("volts") if battery is not None else None
    return abs(read[-1]) if read else known.nominal if known else answer.engine.sheet.system_volts


def changes(before: Setup, after: Setup, sheet: Sheet, spoken: Texts) -> tuple[str, ...]:
    """What has to be changed to get from one setup to another, one thing each."""
    old, new = dict(before.state), dict(after.state)
    moved = [name for name in sheet.controls if old.get(name) != new.get(name)]
    said = [spoken.said(latch_words(sheet.latches[n], new[n])) for n in moved if n in sheet.latches]
    turned = spoken.gettext("{control} to {position}")
    said += [turned.format(control=n, position=new[n]) for n in moved if n not in sheet.latches]
    for text, names in (
        (spoken.gettext("take off {name}"), after.unplugged - before.unplugged),
        (spoken.gettext("put back {name}"), before.unplugged - after.unplugged),
    ):
        said += [text.format(name=name) for name in sorted(names)]
    return tuple(said)


def do_of(check: Check, spoken: Texts, sheet: Sheet) -> str:
    """What to do, without the points of the leads."""
    c = check.candidate
    held = [a for a in c.setup.attached if a.kind == "target"]
    lead = "".join(
        spoken.gettext("Hold {what} at the face of {part}, then measure:").format(
            what=spoken.said(a.what), part=a.red
        )
        + " "
        for a in held
    )
    said = {
        "volts": spoken.gettext("Volts"),
        "ohms": spoken.gettext("Ohms"),
        "tester": spoken.gettext("Test lamp"),
        "looked": ", ".join(
            t
            for t in (
                spoken.gettext("Look at {part}").format(part=c.part),
                spoken.said(plug_words(c.part, sheet)),
            )
            if t
        ),
        "swapped": spoken.gettext("Fit a known good {part}").format(part=c.part),
    }
    return lead + said.get(c.kind, c.words())


def told_of(
    check: Check, spoken: Texts, local: Callable[[str], str], value: float | None = None
) -> tuple[tuple[Told, ...], Markup]:
    """The outcomes as a list and, for numbers, as a strip with the reading in it.

    Parameters
    ----------
    value
        What was read [V or ohm]; None before.
    """
    kind = check.candidate.kind
    likely = [o for o in check.outcomes if o.chance >= RARE][:MOST_OUTCOMES]
    numeric = kind in UNITS and all(o.low == o.low for o in likely) and bool(likely)
    if numeric:
        likely.sort(key=lambda o: o.low)
    hit = fell_into(likely, kind, value) if numeric and value is not None else None
    told = tuple(_told(o, kind, spoken, local, hit=k == hit) for k, o in enumerate(likely))
    if not numeric:
        return told, Markup()
    label = spoken.gettext("What it may show, by number as in the list below")
    return told, draw_strip(likely, kind, value, label=label, local=local)


def _told(outcome: Outcome, kind: str, spoken: Texts, local: Callable[[str], str], *, hit: bool) -> Told:
    sound = spoken.gettext("no fault here")
    named = tuple(sound if n == "as built" else n for n in outcome.means[:NAMES])
    shows = shows_words(outcome, kind)
    shows = local(shows.replace(" to ", " \u2013 ")) if kind in UNITS else spoken.said(shows)
    return Told(shows, outcome.chance, named, max(0, len(outcome.means) - NAMES), hit)


def line_start(check: Check) -> str:
    """What the answer's line begins with, before the number."""
    c = check.candidate
    return f"{c.red.name} to {c.black.name}" if c.red and c.black else ""


def words_of(check: Check, spoken: Texts, battery: float) -> tuple[tuple[str, str], ...]:
    """Answers by one tap: what the button says, and the line it stands for.

    Parameters
    ----------
    battery
        Volts of the battery [V].
    """
    c, start = check.candidate, line_start(check)
    match c.kind:
        case "volts":
            about = f"{battery:.3g}"
            return (
                (localised(spoken, "0 V"), f"{start}: 0 V"),
                (localised(spoken, f"{spoken.gettext('about')} {about} V"), f"{start}: about {about} V"),
                (spoken.gettext("Over range (OL)"), f"{start}: OL V"),
                (spoken.gettext("Jumps about"), f"{start}: unsteady"),
            )
        case "ohms":
            return ((spoken.gettext("Over range (OL)"), f"{start}: OL ohm"),)
        case "tester":
            return tuple((spoken.said(w), f"test lamp {start}: {w}") for w in ("lit", "dim", "dark"))
        case "looked":
            return (
                (spoken.said("looks bad"), f"looked at {c.part}: bad"),
                (spoken.said("looks fine"), f"looked at {c.part}: fine"),
            )
        case _:
            return (
                (spoken.said("works now"), f"swapped {c.part}: works now"),
                (spoken.said("no change"), f"swapped {c.part}: no change"),
            )


def reach_of(check: Check, sheet: Sheet) -> tuple[str, ...]:
    """What of a check may be out of reach: its points, or its part."""
    c = check.candidate
    if c.part:
        return (c.part,)
    points = [p for p in (c.red, c.black) if p is not None and p.name not in POSTS]
    names = [p.name.removesuffix(f" {p.side} side") for p in points]
    return tuple(dict.fromkeys(n for n in names if n not in sheet.bodies))


def where_of(check: Check) -> str:
    """Setup and leads of a check as one text for a form."""
    c = check.candidate
    held = [
        f"{'magnet' if 'magnet' in a.what else 'steel'} at {a.red}"
        for a in c.setup.attached
        if a.kind == "target"
    ]
    whole = {
        "start": line_start(check),
        "kind": c.kind,
        "state": dict(c.setup.state),
        "unplugged": sorted(c.setup.unplugged),
        "held": held,
    }
    return json.dumps(whole, ensure_ascii=False, separators=(",", ":"))


@dataclass(frozen=True, slots=True)
class Where:
    """Setup and leads of a check, back from its form."""

    start: str
    kind: str
    context: Context
    held: tuple[str, ...]


def read_where(text: str) -> Where:
    """What `where_of` wrote.

    Raises
    ------
    BackprobeError
        When it was changed on its way.
    """
    try:
        whole = json.loads(text)
        state = tuple(sorted((str(k), str(v)) for k, v in whole["state"].items()))
        context = Context(state, frozenset(str(u) for u in whole["unplugged"]), True)
        held = tuple(str(h) for h in whole["held"])
        return Where(str(whole["start"]), str(whole["kind"]), context, held)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        problem = Problem("where", text[:40], "is no setup of a check", "Load the page again.")
        raise BackprobeError(problem) from None


def same_check(checks: Sequence[Check], where: str) -> Check | None:
    """The check that a form was made for, as it was proposed."""
    return next((c for c in checks if where_of(c) == where), None)

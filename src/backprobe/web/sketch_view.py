"""What the page shows of a sketch: its runs, its drawing as far as it goes, what is wrong, what it asks."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from backprobe.errors import Problem, SheetError
from backprobe.report.drawing import draw
from backprobe.sheet.document import write_document
from backprobe.sheet.functions import is_guard
from backprobe.sheet.kinds import registry
from backprobe.sheet.model import Sheet
from backprobe.sheet.parts import guess_words
from backprobe.sheet.reader import parse_sheet
from backprobe.web.sketch_draft import Draft
from backprobe.web.sketch_edit import FILE, data_of, is_complete, runs_of

Names = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Question:
    """A value that matters and is only assumed.

    Parameters
    ----------
    part, field
        Where the answer goes; no field for what is answered in the sheet's text.
    asks
        The question.
    unit
        Of the answer.
    taken
        Between what it is taken to lie until then [unit].
    """

    part: str
    field: str
    asks: str
    unit: str
    taken: tuple[float, float]


@dataclass(frozen=True, slots=True)
class SwitchView:
    """A switch with the positions of its control, and in which its contact is closed.

    Parameters
    ----------
    guard
        Whether it keeps people safe.
    guessed
        Whether its name says nothing, so that it was taken for a button.
    taken
        What was taken because of what it feeds, as a question; empty where its name settles it.
    """

    part: str
    control: str
    positions: tuple[tuple[str, bool], ...]
    guard: bool = False
    guessed: bool = False
    taken: str = ""


@dataclass(frozen=True, slots=True)
class RunView:
    """One run as it is listed."""

    name: str
    items: tuple[str, ...]
    current: bool
    complete: bool


@dataclass(frozen=True, slots=True)
class SketchView:
    """A draft, read.

    Parameters
    ----------
    readable
        Whether the text is a sheet file at all, so that the buttons can write in it.
    sheet
        The sheet, where nothing is wrong with it; runs that have only begun are left out.
    drawing
        SVG of the sheet, or of the last step that could be drawn.
    stale
        Whether the drawing is of an earlier step.
    begun
        Runs that have only begun.
    items
        All things of all runs.
    """

    readable: bool
    sheet: Sheet | None
    drawing: str
    stale: bool
    problems: tuple[Problem, ...]
    runs: tuple[RunView, ...] = ()
    begun: tuple[str, ...] = ()
    questions: tuple[Question, ...] = ()
    switches: tuple[SwitchView, ...] = ()
    starts: tuple[str, ...] = ()
    ungrounded: tuple[str, ...] = ()
    items: tuple[str, ...] = field(default=())
    name: str = ""
    system: str = ""


def view_of(draft: Draft) -> SketchView:
    """Read a draft as far as it goes."""
    try:
        data = data_of(draft.text)
    except SheetError as error:
        drawn = _last_drawn(draft.past)
        return SketchView(False, None, draw(drawn) if drawn else "", drawn is not None, error.problems)
    runs = runs_of(data)
    begun = tuple(name for name, items in runs.items() if len(items) < 2)
    sheet, problems = _read(draft.text, data, begun)
    drawn = sheet or _last_drawn(draft.past)
    known = sheet or drawn
    current = draft.run if draft.run in runs else next(reversed(runs), "")
    return SketchView(
        True,
        sheet,
        draw(drawn) if drawn else "",
        drawn is not sheet,
        problems,
        tuple(RunView(n, tuple(i), n == current, is_complete(n, runs)) for n, i in runs.items()),
        begun,
        tuple(_questions(sheet)) if sheet else (),
        tuple(_switches(sheet)) if sheet else (),
        tuple(_starts(known)) if known else (),
        tuple(_ungrounded(runs)),
        tuple(i for items in runs.values() for i in items),
        str(data.get("sheet", "")),
        str(data.get("system", "12 V")),
    )


def sheet_of(draft: Draft) -> Sheet:
    """The sheet that a draft has become.

    Raises
    ------
    SheetError
        With all that is wrong with it.
    """
    data = data_of(draft.text)
    begun = tuple(name for name, items in runs_of(data).items() if len(items) < 2)
    return parse_sheet(_without(data, begun) if begun else draft.text, file=FILE)


def _read(
    text: str, data: dict[str, Any], begun: tuple[str, ...]
) -> tuple[Sheet | None, tuple[Problem, ...]]:
    try:
        return parse_sheet(text, file=FILE), ()
    except SheetError as error:
        if not begun:
            return None, error.problems
        rest = tuple(p for p in error.problems if p.field not in {f"runs.{name}" for name in begun})
    if len(begun) == len(runs_of(data)):
        return None, rest
    try:
        return parse_sheet(_without(data, begun), file=FILE), ()
    except SheetError as error:
        return None, rest or error.problems


def _without(data: dict[str, Any], begun: Names) -> str:
    runs = {name: items for name, items in data["runs"].items() if name not in begun}
    return write_document({**data, "runs": runs})


def _last_drawn(past: Iterable[str]) -> Sheet | None:
    """The sheet of the last step that was one."""
    for text in past:
        try:
            data = data_of(text)
        except SheetError:
            continue
        begun = tuple(name for name, items in runs_of(data).items() if len(items) < 2)
        if sheet := _read(text, data, begun)[0]:
            return sheet
    return None


def _questions(sheet: Sheet) -> Iterable[Question]:
    asked: set[str] = set()
    for part in sheet.parts.values():
        for spec in registry().by_name[part.kind].fields if not part.implied else ():
            value = part.values.get(spec.name)
            if spec.matters and value is not None and value.origin.kind == "default":
                asked.add(f"{part.name}: {spec.matters}")
                yield Question(part.name, spec.name, spec.matters, spec.unit, (value.low, value.high))
    # A switch that was guessed is asked about with its positions.
    asked |= {guess_words(p.name, c) for p in sheet.parts.values() for c in p.closed}
    asked |= {text for p in sheet.parts.values() for text in _taken(p.name, sheet)}
    for text in sheet.unknown:
        if text not in asked:
            part_name, _, asks = text.partition(": ")
            yield Question(part_name, "", asks, "", (0.0, 0.0))


def _switches(sheet: Sheet) -> Iterable[SwitchView]:
    for part in sheet.parts.values():
        if part.kind != "switch":
            continue
        for control, on in part.closed.items():
            known = sheet.controls.get(control)
            if known is not None:
                positions = tuple((p, p in on) for p in known.positions)
                guessed = guess_words(part.name, control) in sheet.unknown
                taken = "" if guessed else "".join(_taken(part.name, sheet))
                yield SwitchView(part.name, control, positions, is_guard(part, control), guessed, taken)


def _taken(name: str, sheet: Sheet) -> list[str]:
    """What a switch of that name was taken for, as a question."""
    return [text for text in sheet.unknown if text.startswith(f"{name}: taken as closed with ")]


def _starts(sheet: Sheet) -> Iterable[str]:
    """Where a branch may leave or join: what was met, and terminals that are still free."""
    names: dict[str, None] = {}
    used = {end for run in sheet.runs.values() for item in run.items for end in (item.enter, item.leave)}
    for run in sheet.runs.values():
        for item in run.items:
            part = sheet.parts.get(item.part)
            if (
                part is None
                or (part.implied and item.role != "cavity")
                or part.kind in {"wire", "strap", "battery"}
            ):
                continue
            if part.kind == "relay":
                names.update({item.enter: None, item.leave: None})
            elif item.role in {"part", "cavity"}:
                names[item.part] = None
    for part in sheet.parts.values():
        kind = registry().by_name[part.kind]
        if not kind.passes:
            names.update({f"{part.name}.{t}": None for t in kind.terminals if f"{part.name}.{t}" not in used})
    return names


def _ungrounded(runs: dict[str, list[str]]) -> Iterable[str]:
    """Controllers whose ground no run names yet: the sheet is none before."""
    items = [i.partition(".") for items in runs.values() for i in items if "." in i]
    pins = [(head, pin.lower()) for head, _, pin in items if head.lower().startswith("controller")]
    grounded = {head for head, pin in pins if pin.endswith("ground") and not pin.startswith("sensor")}
    return [head for head in dict.fromkeys(head for head, _ in pins) if head not in grounded]

"""Steps of a sketch: each takes a draft and gives the next one; the sheet's text is all there is."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from backprobe.errors import Problem, SheetError, UnitError
from backprobe.sheet.battery_typed import system_of
from backprobe.sheet.document import plain, read_document, write_document
from backprobe.sheet.lexicon import bare
from backprobe.sheet.parting import is_line, joined_by_arrows, things
from backprobe.units import parse_quantity
from backprobe.web.sketch_draft import MAX_TEXT, Draft
from backprobe.web.sketch_tidy import without_part

FILE = "sketch"
LONGEST_ITEM = 100
_COMMA = re.compile(r"(?<=\d),(?=\d)")
"""A decimal comma."""
_REMARK = re.compile(r"(?:^|\s)(#.*)$")


def data_of(text: str) -> dict[str, Any]:
    """A sheet's text as plain dictionaries and lists.

    Raises
    ------
    SheetError
        When the text is no sheet file.
    """
    found: dict[str, Any] = plain(read_document(text, file=FILE))
    return found


def named(node: object) -> dict[str, Any]:
    """A copy of a set of names; none where something else stands."""
    return dict(node) if isinstance(node, dict) else {}


def runs_of(data: dict[str, Any]) -> dict[str, list[str]]:
    """The runs that are lists of plain texts, or lines joined by ``>``."""
    runs = data.get("runs")
    found: dict[str, list[str]] = {}
    for name, items in runs.items() if isinstance(runs, dict) else ():
        if isinstance(items, str) and is_line(items):
            found[name] = [thing for thing in things(items.strip("[] ")) if thing]
        elif isinstance(items, list) and all(isinstance(i, str) for i in items):
            found[name] = [thing for item in items for thing in joined_by_arrows(item)]
    return found


def is_complete(run: str, runs: dict[str, list[str]]) -> bool:
    """Whether a run has come to an end: at the return, at a terminal, or at what another run passes."""
    items = runs.get(run, [])
    if len(items) < 2:
        return False
    last = bare(items[-1]).lower()
    elsewhere = {bare(i).lower() for name, others in runs.items() if name != run for i in others}
    return last in {"frame", "battery-"} or "." in re.sub(r"\d\.\d", "", last) or last in elsewhere


def add(draft: Draft, item: str) -> Draft:
    """The next thing that the current meets, or several joined by ``>`` or commas."""
    data = data_of(draft.text)
    runs = runs_of(data)
    run = draft.run if draft.run in runs else next(reversed(runs), "main")
    items = runs.get(run, ["battery+"])
    at = draft.at if 0 < draft.at < len(items) else len(items)
    new = _items(item)
    items[at:at] = new
    after = at + len(new)
    data = _with_system(data, new)
    return _written(draft, data, runs | {run: items}, run, after if after < len(items) else -1)


def _with_system(data: dict[str, Any], items: list[str]) -> dict[str, Any]:
    """The sheet with its volts after a battery that was just said, ``battery 24 V``, where they differ."""
    try:
        given = parse_quantity(str(data.get("system", "12 V")), unit="V").value
    except UnitError:
        return data
    found = system_of(items, given)
    return data if found == given else data | {"system": f"{found:g} V"}


def begin(draft: Draft, start: str) -> Draft:
    """A further run or branch, from a post, a terminal or a thing that another run passes."""
    data = data_of(draft.text)
    runs = runs_of(data)
    for name, items in list(runs.items()):
        if len(items) < 2:
            # A run that was begun and left says nothing.
            del runs[name]
    number = len(runs) + 1
    while f"run {number}" in runs:
        number += 1
    name = f"run {number}" if runs else "main"
    return _written(draft, data, runs | {name: _items(start)}, name)


def change(draft: Draft, run: str, place: int, item: str) -> Draft:
    """One thing of a run written anew, or taken out where the text is empty."""
    data = data_of(draft.text)
    runs = runs_of(data)
    items = runs.get(run, [])
    if not 0 <= place < len(items):
        return draft
    met = items[place]
    items[place : place + 1] = _items(item)
    if not item.strip():
        data = without_part(data, met, [thing for others in runs.values() for thing in others])
    data = _with_system(data, _items(item))
    runs[run] = items
    if not items:
        del runs[run]
    return _written(
        draft, data, runs or {"main": ["battery+"]}, run if items else next(reversed(runs), "main")
    )


def go_on(draft: Draft, run: str, at: int) -> Draft:
    """The draft with its pencil at another place."""
    return replace(draft, run=run, at=at)


def say(draft: Draft, part: str, field: str, value: Any) -> Draft:
    """A value of a part, under `parts`; an empty one takes it out."""
    data = data_of(draft.text)
    parts = named(data.get("parts"))
    fields = named(parts.get(part))
    fields.pop(field, None)
    if value:
        fields[field] = value
    parts[part] = fields
    parts = {name: f for name, f in parts.items() if f}
    data["parts"] = parts
    if not parts:
        del data["parts"]
    return _written(draft, data, runs_of(data), draft.run, draft.at)


def with_control(draft: Draft, control: str, positions: list[str]) -> Draft:
    """The draft with a control declared, which a part's fields may speak of then; no step of its own."""
    data = data_of(draft.text)
    controls = named(data.get("controls"))
    if control in controls:
        return draft
    whole: dict[str, Any] = {}
    for key, value in data.items():
        if key == "runs":
            whole["controls"] = controls | {control: positions}
        whole[key] = value
    return replace(draft, text=_written(draft, whole, runs_of(data), draft.run).text)


def head(draft: Draft, name: str, system: str) -> Draft:
    """The sheet's name and its volts."""
    data = data_of(draft.text)
    said = {"sheet": " ".join(name.split()) or "Sketch", "system": " ".join(system.split()) or "12 V"}
    whole = said | {k: v for k, v in data.items() if k not in said}
    return _written(draft, whole, runs_of(data), draft.run, draft.at)


def retype(draft: Draft, text: str) -> Draft:
    """The whole text as it was typed.

    Raises
    ------
    SheetError
        When it is longer than a sketch may be.
    """
    if len(text) > MAX_TEXT:
        raise SheetError(
            Problem("text", text[:40], f"is longer than {MAX_TEXT} characters", "Use a sheet file.", FILE)
        )
    lines = text.replace("\r\n", "\n").replace("\r", "\n").rstrip()
    return draft.then(lines + "\n", run=_last_run(lines, draft.run))


def undo(draft: Draft) -> Draft:
    """One step back."""
    back = draft.undone()
    return replace(back, run=_last_run(back.text, back.run))


def _last_run(text: str, run: str) -> str:
    try:
        runs = runs_of(data_of(text))
    except SheetError:
        return run
    return run if run in runs else next(reversed(runs), "main")


def _items(text: str) -> list[str]:
    """What was typed as one thing; a sign parts it, so that none hides in the other's name."""
    return [" ".join(thing.split())[:LONGEST_ITEM] for thing in things(_COMMA.sub(".", text)) if thing]


def _written(draft: Draft, data: dict[str, Any], runs: dict[str, list[str]], run: str, at: int = -1) -> Draft:
    """The draft with its text made from `data` and `runs`; remarks typed by hand move to the top."""
    whole: dict[str, Any] = {}
    for key, value in data.items():
        whole[key] = {**value, **runs} if key == "runs" and isinstance(value, dict) else value
    if isinstance(data.get("runs"), dict):
        whole["runs"] = {k: v for k, v in whole["runs"].items() if k in runs or k not in runs_of(data)}
    else:
        whole["runs"] = runs
    found = (_REMARK.search(line) for line in draft.text.split("\n"))
    remarks = dict.fromkeys(match[1] for match in found if match)
    text = "".join([*(f"{remark}\n" for remark in remarks), *(_section(k, v) for k, v in whole.items())])
    return draft.then(text, run=run, at=at)


def _section(name: str, value: Any) -> str:
    """A section of a sheet; the runs have a line each, so that a message finds its line."""
    if name != "runs" or not value:
        return write_document({name: value})
    lines = write_document(value).splitlines()
    return "runs:\n" + "".join(f"  {line}\n" for line in lines)

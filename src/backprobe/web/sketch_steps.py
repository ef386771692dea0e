"""What each button of the sketch page does to a draft: its word, and the fields it reads."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from backprobe.sheet.functions import guards_by_name
from backprobe.sheet.parts import GUARD
from backprobe.sheet.templates import template
from backprobe.web.sketch_draft import Draft
from backprobe.web.sketch_edit import (
    add,
    begin,
    change,
    data_of,
    go_on,
    head,
    named,
    retype,
    runs_of,
    say,
    undo,
    with_control,
)
from backprobe.web.sketch_parts import cavity_named, item_of, meaning_lost, terminal_of, valued, wire_of

Fields = Mapping[str, str]


def take(draft: Draft, button: str, fields: Fields) -> Draft:
    """The draft after a button; as it was where the button is none of this page.

    Parameters
    ----------
    button
        A word of `STEPS`, and after a colon what it is about.
    fields
        What stood in the form; a field that was given more than once has its texts one a line.

    Raises
    ------
    SheetError
        When the text is no sheet file, so that no button can write in it.
    """
    word, _, about = button.partition(":")
    step = STEPS.get(word)
    return step(draft, about, fields) if step else draft


def _items(draft: Draft) -> list[str]:
    return [item for items in runs_of(data_of(draft.text)).values() for item in items]


def _add(draft: Draft, about: str, fields: Fields) -> Draft:
    item = item_of(about, fields.get("name", ""), "", _items(draft))
    after = add(draft, " ".join(filter(None, (item, valued(about, fields.get("value", ""))))))
    lost = meaning_lost(item, about)
    if lost is None:
        return after
    # The name says something else than what was tapped: that is written, in the same step.
    said = with_control(after, lost.control, list(lost.positions))
    closed = lost.closed[0] if len(lost.closed) == 1 else list(lost.closed)
    told = say(said, item, "closed", {lost.control: closed})
    return replace(told, past=after.past)


def _put(draft: Draft, about: str, fields: Fields) -> Draft:
    item = cavity_named(fields.get("name", ""), about, _items(draft)) if about else fields.get("item", "")
    return add(draft, item) if item.strip() else draft


def _wire(draft: Draft, about: str, fields: Fields) -> Draft:
    words = (fields.get(name, "") for name in ("stripe", "length", "size"))
    return add(draft, wire_of(about, *words))


def _box(draft: Draft, about: str, fields: Fields) -> Draft:
    return add(draft, terminal_of(fields.get("owner", ""), about, "supply", _items(draft)))


def _pin(draft: Draft, about: str, fields: Fields) -> Draft:
    words = " ".join(f"{fields.get('owner', '')} {about}".split())
    return add(draft, terminal_of("controller", "controller", words, _items(draft)))


def _begin(draft: Draft, about: str, fields: Fields) -> Draft:
    start = about or fields.get("start", "")
    return begin(draft, start) if start.strip() else draft


def _ground(draft: Draft, about: str, _fields: Fields) -> Draft:
    """A controller's ground to the frame; the pencil stays where it was."""
    grounded = add(begin(draft, f"{about}.ground"), "frame")
    return draft.then(grounded.text)


def _undo(draft: Draft, _about: str, _fields: Fields) -> Draft:
    return undo(draft)


def _at(draft: Draft, about: str, _fields: Fields) -> Draft:
    run, _, place = about.rpartition(":")
    return go_on(draft, run, _number(place)) if run else go_on(draft, about, -1)


def _change(draft: Draft, about: str, fields: Fields) -> Draft:
    run, _, place = about.rpartition(":")
    return change(draft, run, _number(place), fields.get("item", ""))


def _size(draft: Draft, about: str, fields: Fields) -> Draft:
    """The size of a fuse, behind its words in the run; the pencil stays where it was."""
    run, place = fields.get("run", ""), _number(fields.get("place", ""))
    items = runs_of(data_of(draft.text)).get(run, [])
    if not 0 <= place < len(items):
        return draft
    return replace(change(draft, run, place, f"{items[place]} {valued('fuse', about)}"), at=draft.at)


def _remove(draft: Draft, about: str, _fields: Fields) -> Draft:
    run, _, place = about.rpartition(":")
    return change(draft, run, _number(place), "")


def _say(draft: Draft, _about: str, fields: Fields) -> Draft:
    part, field = fields.get("part", ""), fields.get("field", "")
    if not part or not field:
        return draft
    kind = {"A": "fuse", "m": "wire", "W": "lamp"}.get(fields.get("unit", ""), "")
    value = fields.get("value", "")
    unit = fields.get("unit", "")
    written = valued(kind, value) if kind or unit == "ohm" else _with_unit(value, unit)
    return say(draft, part, field, written)


def _with_unit(value: str, unit: str) -> str:
    plain = " ".join(value.split()).replace(",", ".")
    return f"{plain} {unit}" if plain and plain[-1].isdigit() and unit else plain


def _closed(draft: Draft, _about: str, fields: Fields) -> Draft:
    """Positions of one control in which a contact is closed; those of its other controls stay."""
    part, control = fields.get("part", ""), fields.get("control", "")
    ticked, known = (fields.get(name, "").split("\n") for name in ("on", "all"))
    if not (part and control and ticked[0] and len(known) > 1):
        return draft
    said = named(named(named(data_of(draft.text).get("parts")).get(part)).get("closed"))
    positions = ticked[0] if len(ticked) == 1 else ticked
    after = say(with_control(draft, control, known), part, "closed", said | {control: positions})
    guards = fields.get("guard") == "yes"
    # A tick that was left alone says nothing: a PTO switch that is closed with PTO on guards nobody.
    if fields.get("asked") and fields.get("was") != ("yes" if guards else "no"):
        # Only what its name does not say is written.
        word = "" if guards == guards_by_name(control, ticked, part) else "yes" if guards else "no"
        after = say(after, part, GUARD, word)
    return draft.then(after.text, at=draft.at)


def _head(draft: Draft, _about: str, fields: Fields) -> Draft:
    return head(draft, fields.get("sheet", ""), fields.get("system", ""))


def _text(draft: Draft, _about: str, fields: Fields) -> Draft:
    return retype(draft, fields.get("text", ""))


def _template(draft: Draft, _about: str, fields: Fields) -> Draft:
    return retype(draft, template(fields.get("template", "")).text)


def _number(text: str) -> int:
    return int(text) if text.isdigit() and len(text) < 6 else -1


STEPS: Mapping[str, Callable[[Draft, str, Fields], Draft]] = {
    "add": _add,
    "put": _put,
    "wire": _wire,
    "box": _box,
    "pin": _pin,
    "begin": _begin,
    "ground": _ground,
    "undo": _undo,
    "at": _at,
    "change": _change,
    "remove": _remove,
    "size": _size,
    "say": _say,
    "closed": _closed,
    "head": _head,
    "text": _text,
    "template": _template,
}
"""Word of a button to what it does."""

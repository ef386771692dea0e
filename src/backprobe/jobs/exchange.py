"""A job as one JSON object: strict coming in, canonical going out.

A mechanic mails a job to another one, or keeps it beside the invoice. What comes in was
written by a stranger, so all of it is checked before anything is stored.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

from backprobe.jobs.log import (
    ID_LETTERS,
    JSON,
    Entry,
    Job,
    check_kind,
    check_undo,
    format_time,
    parse_time,
    refuse,
)

if TYPE_CHECKING:
    from backprobe.jobs.store import Store

FORMAT = "backprobe job"
VERSION = 1
MAX_ENTRIES = 10_000
MAX_CHARACTERS = 5_000_000
ENTRY_CHARACTERS = 100  # what number, kind and time of one entry add to its data

_DEPTH = 50
_INTEGER_LIMIT = 2**63
_ID = re.compile(f"[{ID_LETTERS}]{{5,32}}")
_JOB_KEYS = ("format", "version", "id", "title", "machine", "sheet", "entries")
_ENTRY_KEYS = ("number", "kind", "at", "data")


def export_job(job: Job) -> dict[str, JSON]:
    """Return a job as one JSON object, complete: `import_job` makes the same job of it."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "id": job.id,
        "title": job.title,
        "machine": job.machine,
        "sheet": {"name": job.sheet_name, "text": job.sheet_text},
        "entries": [
            {
                "number": entry.number,
                "kind": entry.kind,
                "at": format_time(entry.at),
                "data": plain(entry.data),
            }
            for entry in job.entries
        ],
    }


def import_job(store: Store, data: object) -> Job:
    """Check an exported job from end to end, then store it, all or nothing.

    Parameters
    ----------
    store
        Where it goes.
    data
        What `export_job` made, as read from JSON.

    Returns
    -------
    Job
        The stored job. It keeps its id; if the store already has that id, it gets a new
        one, and a last ``note`` entry ``{"imported as": new, "imported from": old}``.

    Raises
    ------
    JobError
        Naming the path of the first wrong field, such as ``entries.3.at``, where entries
        and list items are counted from 1.
    """
    return store.add(read_job(data))


def read_job(data: object) -> Job:
    """Return the job that an exported object describes, or refuse it by the field's path."""
    fields = _fields(data, _JOB_KEYS, "")
    if fields["format"] != FORMAT:
        remedy = f"Give a file with format '{FORMAT}'"
        raise refuse("format", _shown(fields["format"]), "is another format", remedy)
    version = fields["version"]
    if type(version) is not int or version != VERSION:
        remedy = f"This program reads version {VERSION}; a newer one may read it"
        raise refuse("version", _shown(version), "cannot be read", remedy)
    name = plain_text(fields["id"], "id")
    if not _ID.fullmatch(name):
        remedy = "Five or more small letters and digits, without i, l, o and u"
        raise refuse("id", name, "is not a job id", remedy)
    sheet = _fields(fields["sheet"], ("name", "text"), "sheet")
    job = Job(
        name,
        plain_text(fields["title"], "title"),
        plain_text(fields["machine"], "machine"),
        plain_text(sheet["name"], "sheet.name"),
        plain_text(sheet["text"], "sheet.text"),
        _read_entries(fields["entries"]),
    )
    check_room(job)
    return job


def _read_entries(value: object) -> tuple[Entry, ...]:
    if not isinstance(value, list) or not value:
        raise refuse("entries", _shown(value), "is not a log", "Give a list that begins 'opened'")
    check_size(len(value), 0)
    entries: list[Entry] = []
    for number, item in enumerate(value, 1):
        entry = _read_entry(item, number)
        if entry.kind == "undo":
            check_undo(entries, entry.data.get("undoes"), f"entries.{number}.data.undoes")
        entries.append(entry)
    return tuple(entries)


def _read_entry(item: object, number: int) -> Entry:
    path = f"entries.{number}"
    fields = _fields(item, _ENTRY_KEYS, path)
    if type(fields["number"]) is not int or fields["number"] != number:
        remedy = f"Entries are numbered 1, 2, 3 ... without gaps: {number} belongs here"
        raise refuse(f"{path}.number", _shown(fields["number"]), "is out of order", remedy)
    kind = check_kind(fields["kind"], number, f"{path}.kind")
    at = parse_time(fields["at"], f"{path}.at")
    return Entry(number, kind, at, plain_object(fields["data"], f"{path}.data"))


def _fields(value: object, keys: tuple[str, ...], path: str) -> Mapping[str, object]:
    """Return an object that has exactly these keys."""
    if not isinstance(value, Mapping):
        remedy = f"Give an object with {', '.join(keys)}"
        raise refuse(path, _shown(value), "is not an object", remedy)
    for key in keys:
        if key not in value:
            raise refuse(_join(path, key), "", "is missing", "Export the job again")
    for key in value:
        if key not in keys:
            remedy = f"Take it out; the fields are {', '.join(keys)}"
            raise refuse(_join(path, str(key)), "", "is not a field of a job", remedy)
    return value


def _join(path: str, key: str) -> str:
    shown = key[:60].encode("utf-8", "backslashreplace").decode("utf-8")
    return f"{path}.{shown}" if path else shown


def _shown(value: object) -> str:
    """Return a value for a message; containers by their kind only, they may be huge."""
    if isinstance(value, str):
        return value
    simple = value is None or isinstance(value, bool | float)
    if simple or (isinstance(value, int) and abs(value) < _INTEGER_LIMIT):
        return str(value)
    return type(value).__name__


def check_room(job: Job) -> None:
    """Refuse a job too large to be handed on as one file."""
    texts = len(job.title) + len(job.machine) + len(job.sheet_name) + len(job.sheet_text)
    data = sum(len(dumps(entry.data)) + ENTRY_CHARACTERS for entry in job.entries)
    check_size(len(job.entries), texts + data)


def check_size(entries: int, characters: int) -> None:
    """Refuse more entries or characters than one job may have."""
    remedy = "Keep large files beside the job, or open another job"
    if entries > MAX_ENTRIES:
        message = f"are more than the {MAX_ENTRIES} that a job may have"
        raise refuse("entries", str(entries), message, remedy)
    if characters > MAX_CHARACTERS:
        message = f"is more than the {MAX_CHARACTERS} characters that a job may have"
        raise refuse("size", str(characters), message, remedy)


def dumps(data: object) -> str:
    """Write JSON in its one canonical form: sorted keys, no blanks, no NaN, text as it is."""
    checked = plain(data, depth=-5)  # a whole job holds its data a few levels down
    return json.dumps(checked, sort_keys=True, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def plain_text(value: object, field: str) -> str:
    """Return a text that every store and every file can hold."""
    if not isinstance(value, str):
        raise refuse(field, _shown(value), "is not a text", "Give a text in quotes")
    text = str.__str__(value)  # the text of a named constant, not its name
    try:
        text.encode()
    except UnicodeEncodeError:
        remedy = "Type it again: half of a character is missing"
        raise refuse(field, text, "is not a whole text", remedy) from None
    if "\0" in text:
        shown = text.replace("\0", "\\0")
        raise refuse(field, shown, "holds a NUL character", "Take out the NUL character")
    return text


def plain_object(value: object, field: str = "data", depth: int = 0) -> dict[str, JSON]:
    """Return a JSON object as plain dicts, lists, texts and numbers, or refuse it by its path."""
    if not isinstance(value, Mapping):
        raise refuse(field, _shown(value), "is not an object", "Give names with values")
    found: dict[str, JSON] = {}
    for key, item in value.items():
        name = plain_text(key, f"{field}, a key")
        found[name] = plain(item, _join(field, name), depth + 1)
    return found


def plain(value: object, field: str = "data", depth: int = 0) -> JSON:
    """Return any JSON value as plain dicts, lists, texts and numbers."""
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return plain_text(value, field)
    if isinstance(value, int) and abs(value) < _INTEGER_LIMIT:
        return int(value)
    if isinstance(value, float) and math.isfinite(value):
        return float(value)
    if depth < _DEPTH and isinstance(value, Mapping):
        return plain_object(value, field, depth)
    if depth < _DEPTH and isinstance(value, list | tuple):
        return [plain(item, f"{field}.{n}", depth + 1) for n, item in enumerate(value, 1)]
    remedy = f"Use texts, finite numbers, true, false, null, lists and objects, at most {_DEPTH} deep"
    raise refuse(field, _shown(value), "cannot be written as JSON", remedy)

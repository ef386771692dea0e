"""Jobs as plain text: the list, the log with what was undone, and one acknowledged reading."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.jobs.guard_proof import failed_words
from backprobe.jobs.log import Entry, Job, JobLine, undone
from backprobe.jobs.proving import by_hand_of, tried_of
from backprobe.jobs.repairs import REPAIRED, repair_of
from backprobe.readings.model import Reading
from backprobe.report.layout import clock, count, wrap
from backprobe.report.reading_words import as_typed, has_setup
from backprobe.report.setup_words import setup_words
from backprobe.sheet.model import Sheet


def list_text(lines: Sequence[JobLine], store: str = "") -> str:
    """One job a line, newest first.

    Parameters
    ----------
    store
        Where they are kept, said where there are none: it may be the wrong one.
    """
    if not lines:
        return f"No jobs yet{f' in {store}' if store else ''}. Open one: backprobe job new SHEET"
    out: list[str] = []
    for line in lines:
        state = "open" if line.is_open else "closed"
        about = ", ".join(w for w in (line.title, line.machine) if w)
        head = f"{line.id}  {clock(line.last_at)[:10]}  {state:<6}  "
        reason = f", {line.reason}" if line.reason else ""
        out += wrap(f"{about} ({count(line.readings, 'reading')}{reason})", head)
    return "\n".join(out)


def log_lines(job: Job) -> list[str]:
    """The head of a job and its whole log; what was undone is marked and stays."""
    about = ", ".join(w for w in (job.title, job.machine) if w)
    lines = wrap(f"Job {job.id}: {about}", "", "   ")
    state = "open" if job.is_open else f"closed{f' ({job.closed_as})' if job.closed_as else ''}"
    lines += wrap(f"{state}, sheet: {job.sheet_name}", "   ")
    gone = undone(job.entries)
    width = len(str(len(job.entries)))
    for entry in job.entries:
        mark = "x" if entry.number in gone else " "
        head = f"{mark} {entry.number:>{width}}  {clock(entry.at)}  "
        note = " (undone)" if entry.number in gone else ""
        lines += wrap(entry_words(entry) + note, head)
    return lines


def entry_words(entry: Entry) -> str:
    """What one entry says."""
    data = entry.data
    if entry.kind == "reading":
        return str(data.get("line", ""))
    if entry.kind == "undo":
        return f"undo of entry {data.get('undoes')}"
    if entry.kind == REPAIRED:
        return f"repaired {repair_of(entry)}"
    if entry.kind == "closed" and "reason" in data:
        tried = tried_of(entry)
        told = [
            f"closed: {data['reason']}",
            *([f"Ticked by hand: {' '.join(map(_ended, tried))}"] if tried else []),
        ]
        told += [f"Tried by hand besides: {by_hand_of(entry)}"] if by_hand_of(entry) else []
        return " ".join([*map(_ended, told[:-1]), told[-1]])
    if failed := failed_words(entry):
        return f"guard failed: {failed}: it worked although it must not"
    circumstances = data.get("circumstances")
    if entry.kind == "opened":
        words = ", ".join(str(c) for c in circumstances) if isinstance(circumstances, list) else ""
        return f"opened{f', {words}' if words else ''}"
    return f"{entry.kind}: " + ", ".join(f"{k} {v}" for k, v in data.items()) if data else entry.kind


def _ended(text: str) -> str:
    return text if text.endswith(".") else f"{text}."


def new_text(job: Job, complaint: str) -> str:
    """A job just opened, with the line that would begin it."""
    lines = wrap(f"Job {job.id} opened: {', '.join(w for w in (job.title, job.machine) if w)}", "", "   ")
    lines += ["Say first what is dead and what was read, where red and black were:"]
    return "\n".join([*lines, f'   backprobe job read {job.id} "{complaint}"'])


def taken_lines(entry: Entry, reading: Reading, sheet: Sheet) -> list[str]:
    """A reading as it was taken in: number, what was seen, and the whole setup."""
    lines = wrap(as_typed(reading), f"Entry {entry.number}: ")
    return lines + (wrap(setup_words(reading.setup, sheet), "   with ") if has_setup(reading) else [])

"""Close a job for a reason."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option, wrong
from backprobe.cli.jobs import named_job, open_job, opened, store_option
from backprobe.cli.output import say, say_json


@click.command("close", epilog='Example: backprobe job close "repaired and tried"')
@click.argument("words", nargs=-1, metavar="[JOB] REASON")
@click.option(
    "--tried", metavar="NUMBERS", default="", help="What was tried by hand, as job show numbers it: 1-7."
)
@store_option
@json_option
def run(words: tuple[str, ...], tried: str, target: str | None, as_json: bool) -> None:
    """Close a job: "repaired and tried", "handed on", or another reason in a few words.

    "Repaired and tried" is taken only with the number of each guard that was tried and of each thing
    that was put back: backprobe job show lists them after a repair. Closed for another reason after a
    repair, the record says that the guards were not tried. To open the job again, undo the entry. JOB
    may be left out while only one is open.
    """
    from backprobe.jobs.proving import ticks_of
    from backprobe.report.job_words import entry_words
    from backprobe.report.layout import wrap
    from backprobe.report.repair_words import tick_words
    from backprobe.report.sheet_data import entry_data

    name, reason = named_job(words)
    if not reason:
        raise wrong("REASON", "", "is missing", 'Give one, such as "repaired and tried" or "handed on".')
    with opened(target) as store:
        job = open_job(store, name)
        ticks = ticks_of(job.engine)
        entry = job.close(
            reason, {ticks[k].key: tick_words(ticks[k], job.sheet) for k in _numbers(tried, len(ticks))}
        )
    if as_json:
        say_json({"job": job.record.id, "entry": entry_data(entry)})
    else:
        said = wrap(f"Entry {entry.number}: job {job.record.id} is {entry_words(entry)}")
        back = f"To open it again: backprobe job undo {job.record.id} {entry.number}"
        say("\n".join([*said, back]))


def _numbers(text: str, most: int) -> list[int]:
    """Places from 0 of what was ticked, from ``1-3, 5``."""
    found: list[int] = []
    for piece in text.replace(",", " ").split():
        first, dash, last = piece.partition("-")
        if not (first.isdecimal() and (last.isdecimal() or not dash)):
            raise wrong("--tried", piece, "is no number", "Write such as 1-7 or 1,2,3.")
        low, high = int(first), int(last or first)
        if not 1 <= low <= high <= most:
            raise wrong("--tried", piece, "is not on the list", f"Take numbers from 1 to {most}.")
        found += range(low - 1, high)
    return found


COMMAND = run

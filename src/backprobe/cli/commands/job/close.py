"""Close a job for a reason."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option, wrong
from backprobe.cli.jobs import named_job, open_job, opened, store_option
from backprobe.cli.output import say, say_json


@click.command("close", epilog='Example: backprobe job close "repaired and tried"')
@click.argument("words", nargs=-1, metavar="[JOB] REASON")
@store_option
@json_option
def run(words: tuple[str, ...], target: str | None, as_json: bool) -> None:
    """Close a job: "repaired and tried", "handed on", or another reason in a few words.

    Try every guard in every operator state first: backprobe job show lists them after a repair. To
    open the job again, undo the entry. JOB may be left out while only one is open.
    """
    from backprobe.report.job_words import entry_words
    from backprobe.report.sheet_data import entry_data

    name, reason = named_job(words)
    if not reason:
        raise wrong("REASON", "", "is missing", 'Give one, such as "repaired and tried" or "handed on".')
    with opened(target) as store:
        job = open_job(store, name)
        entry = job.close(reason)
    if as_json:
        say_json({"job": job.record.id, "entry": entry_data(entry)})
    else:
        back = f"To open it again: backprobe job undo {job.record.id} {entry.number}"
        say(f"Entry {entry.number}: job {job.record.id} is {entry_words(entry)}\n{back}")


COMMAND = run

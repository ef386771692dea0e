"""Say what was repaired; readings begin anew from there."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option, wrong
from backprobe.cli.jobs import named_job, open_job, opened, store_option
from backprobe.cli.output import say, say_json


@click.command("repaired", epilog='Example: backprobe job repaired "brake switch: replaced"')
@click.argument("words", nargs=-1, metavar='[JOB] "PART: WHAT"')
@store_option
@json_option
def run(words: tuple[str, ...], target: str | None, as_json: bool) -> None:
    """Say what was repaired, such as "brake switch: replaced".

    From then on only new readings count, for the repaired machine; the earlier ones stay on the
    record. Shows what to try before handing over once it works. JOB may be left out while only one
    is open.
    """
    from backprobe.jobs.standing import standing_of
    from backprobe.report.job_words import entry_words
    from backprobe.report.repair_words import repair_lines
    from backprobe.report.sheet_data import entry_data

    name, text = named_job(words)
    if not text:
        raise wrong("PART", "", "is missing", 'Say what was repaired, such as "brake switch: replaced".')
    with opened(target) as store:
        job = open_job(store, name)
        entry = job.repaired(text)
    if as_json:
        say_json({"job": job.record.id, "entry": entry_data(entry)})
    else:
        head = f"Entry {entry.number}: {entry_words(entry)}"
        say("\n".join([head, *repair_lines(job, standing_of(job))]))


COMMAND = run

"""Take in a job that was exported."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option, read_text, wrong
from backprobe.cli.jobs import opened, store_option
from backprobe.cli.output import say, say_json


@click.command("import", epilog="Example: backprobe job import job.json")
@click.argument("file")
@store_option
@json_option
def run(file: str, target: str | None, as_json: bool) -> None:
    """Take in a job that was exported, all or nothing; - for standard input.

    It keeps its name, unless the store has that name already.
    """
    import json

    from backprobe.jobs.exchange import import_job
    from backprobe.report.sheet_data import job_data

    try:
        data = json.loads(read_text(file, "FILE"))
    except (ValueError, RecursionError):
        raise wrong("FILE", file, "is not JSON", "Give a file made by backprobe job export.") from None
    with opened(target) as store:
        job = import_job(store, data)
    if as_json:
        say_json({"job": job_data(job)})
    else:
        say(f"Job {job.id} taken in: {job.title} ({len(job.entries)} entries)")


COMMAND = run

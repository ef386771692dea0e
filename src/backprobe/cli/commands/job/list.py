"""List the jobs of a store, newest first."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option
from backprobe.cli.jobs import opened, store_option
from backprobe.cli.output import say, say_json


@click.command("list", epilog="Example: backprobe job list")
@store_option
@json_option
def run(target: str | None, as_json: bool) -> None:
    """List the jobs of a store, newest first."""
    from backprobe.report.job_words import list_text
    from backprobe.report.sheet_data import jobs_data

    with opened(target) as store:
        lines = store.jobs()
    say_json(jobs_data(lines)) if as_json else say(list_text(lines, store.name))


COMMAND = run

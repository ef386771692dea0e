"""Take back what was done last, or an entry by its number."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option, wrong
from backprobe.cli.jobs import open_job, opened, store_option
from backprobe.cli.output import say, say_json

SHORTEST_ID = 5


@click.command("undo", epilog="Example: backprobe job undo\n\nExample: backprobe job undo 2")
@click.argument("words", nargs=-1, metavar="[JOB] [N]")
@store_option
@json_option
def run(words: tuple[str, ...], target: str | None, as_json: bool) -> None:
    """Take back the last reading, repair or closing that stands, or entry N.

    The entry stays in the log, marked as undone. To bring it back, undo the undo. JOB may be
    left out while only one is open.
    """
    from backprobe.report.job_words import entry_words
    from backprobe.report.sheet_data import entry_data

    name, number = split_words(words)
    with opened(target) as store:
        job = open_job(store, name)
        if number is None and job.last_done is None:
            raise wrong(
                "N", "", "is missing, and no reading of this job stands", "Give the number of an entry."
            )
        if number is not None and not 1 < number <= len(job.record.entries):
            see = f"See the numbers: backprobe job show {job.record.id}"
            raise wrong("N", str(number), "is no entry of this job that can be taken back", see)
        entry = job.undo(number)
    gone = entry.data["undoes"]
    if as_json:
        say_json({"job": job.record.id, "entry": entry_data(entry), "undone": gone})
    else:
        undone = job.record.entries[int(str(gone)) - 1]
        say(f"Entry {entry.number}: entry {gone} is undone ({entry_words(undone)})")


def split_words(words: tuple[str, ...]) -> tuple[str | None, int | None]:
    """The job and the number of an entry, each if given; a short number alone is an entry."""
    if len(words) > 2:
        raise wrong("N", " ".join(words), "is more than a job and a number", "Give [JOB] [N].")
    if not words:
        return None, None
    last = words[-1]
    if last.isascii() and last.isdigit() and (len(words) == 2 or len(last) < SHORTEST_ID):
        return (words[0] if len(words) == 2 else None), int(last[:18])
    if len(words) == 2:
        raise wrong("N", last, "is not the number of an entry", "See the numbers: backprobe job show")
    return words[0], None


COMMAND = run

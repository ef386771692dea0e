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
@click.option("--by-hand", metavar="TEXT", default="", help="What else was tried by hand, in a few words.")
@click.option(
    "--failed", metavar="NUMBER", default="", help="A guard that failed when tried: kept, the job stays open."
)
@store_option
@json_option
def run(
    words: tuple[str, ...], tried: str, by_hand: str, failed: str, target: str | None, as_json: bool
) -> None:
    """Close a job: "repaired and tried", "handed on", or another reason in a few words.

    "Repaired and tried" is taken only with the number of each guard that was tried and of each thing
    that was put back: backprobe job show lists them after a repair. Where the sheet names no guard it is
    closed as "repaired, no guard proven" instead. A guard that worked although it must not is kept with
    --failed, and the job is not closed as tried until it is repaired. Closed for another reason after a
    repair, the record says that the guards were not tried. To open the job again, undo the entry. JOB
    may be left out while only one is open.
    """
    from backprobe.jobs.guard_proof import DO_NOT_HAND_OVER
    from backprobe.jobs.proving import ticks_of
    from backprobe.report.job_words import entry_words
    from backprobe.report.layout import wrap
    from backprobe.report.repair_words import no_try_words, tick_words
    from backprobe.report.sheet_data import entry_data

    name, reason = (words[0] if words else None, "") if failed else named_job(words)
    if not reason and not failed:
        raise wrong("REASON", "", "is missing", 'Give one, such as "repaired and tried" or "handed on".')
    with opened(target) as store:
        job = open_job(store, name)
        ticks = ticks_of(job.engine)
        told = {t.key: tick_words(t, job.sheet) for t in ticks}
        keys = [t.key for t in ticks]
        if failed:
            place = _numbers(failed, len(ticks), "--failed")[:1]
            if len(place) != 1 or "-" in failed or not ticks[place[0]].guards:
                raise wrong(
                    "--failed", failed, "is not one guard", "Take the number of a line that says must NOT."
                )
            key = keys[place[0]]
            entry = job.guard_failed(key, told[key])
            said = [f"Entry {entry.number}: {entry_words(entry)}", DO_NOT_HAND_OVER]
        else:
            entry = job.close(reason, {keys[k]: told[keys[k]] for k in _numbers(tried, len(ticks))}, by_hand)
            said = [f"Entry {entry.number}: job {job.record.id} is {entry_words(entry)}"]
            said += no_try_words(job.engine) if job.repairs else []
    if as_json:
        say_json({"job": job.record.id, "entry": entry_data(entry)})
    else:
        back = "To take it back" if failed else "To open it again"
        lines = [line for text in said for line in wrap(text)]
        say("\n".join([*lines, f"{back}: backprobe job undo {job.record.id} {entry.number}"]))


def _numbers(text: str, most: int, option: str = "--tried") -> list[int]:
    """Places from 0 of what was ticked, from ``1-3, 5``."""
    found: list[int] = []
    for piece in text.replace(",", " ").split():
        first, dash, last = piece.partition("-")
        if not (first.isdecimal() and (last.isdecimal() or not dash)):
            raise wrong(option, piece, "is no number", "Write such as 1-7 or 1,2,3.")
        low, high = int(first), int(last or first)
        if not 1 <= low <= high <= most:
            raise wrong(option, piece, "is not on the list", f"Take numbers from 1 to {most}.")
        found += range(low - 1, high)
    return found


COMMAND = run

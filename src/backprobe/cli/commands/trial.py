"""Act a proposed cure out before anyone touches the machine."""

from __future__ import annotations

from contextlib import nullcontext
from typing import TYPE_CHECKING

import click

from backprobe.cli.inputs import json_option, make_engine, read_readings, read_sheet, reading_options, wrong
from backprobe.cli.jobs import open_job, opened, store_option
from backprobe.cli.output import progress, say, say_json

if TYPE_CHECKING:
    from backprobe.diagnosis.engine import Engine
    from backprobe.jobs.job import Job
    from backprobe.readings.model import Reading
    from backprobe.workbench.trial_values import AsCheck, Trial

EXAMPLE = '"join C2-1 C2-3"'


@click.command(
    "trial",
    epilog='Example: backprobe trial sprayer.yaml "join C2-1 C2-3"\n\n'
    'Example: backprobe trial sprayer.yaml "it wants a resistor" --readings readings.txt\n\n'
    "Example: backprobe trial sprayer.yaml --all-joins C2",
)
@click.argument("sheet", metavar="SHEET", required=False)
@click.argument("claim", metavar="CLAIM...", nargs=-1)
@click.option("--readings", metavar="FILE", help="Readings, one a line, or -; the suspects follow from them.")
@reading_options
@click.option("--all-joins", "plug", metavar="PLUG", default="", help="Every way to join a plug's cavities.")
@click.option("--plugged", is_flag=True, help="With --all-joins: the plug is on.")
@click.option("--moment/--for-good", "moment", default=None, help="Done for a moment, or left in place.")
@click.option("--job", "job_id", metavar="JOB", help="Sheet and readings of a job, in place of SHEET.")
@click.option("--saw", metavar="TEXT", default="", help="With --job: what was seen; put on its record.")
@store_option
@json_option
def run(
    *,
    sheet: str | None,
    claim: tuple[str, ...],
    readings: str | None,
    typed: tuple[str, ...],
    state: str,
    plug: str,
    plugged: bool,
    moment: bool | None,
    job_id: str | None,
    saw: str,
    target: str | None,
    as_json: bool,
) -> int:
    """Act a proposed cure out before anyone touches the machine.

    SHEET is a sheet file, - for standard input, or a typed circuit with > in it. CLAIM is what was
    proposed, such as "unplug C2", "put 220 ohm between C2-1 and C2-3", "feed 6 V to C2-3 through
    1k", "swap gate sensor", "bigger fuse". In every operator state it says what releases, lamps and
    codes, what is loaded most, what burns, and whether the guard is defeated. A vague claim, such as
    "clean the plug" or "put a paper clip in", is judged in all its meanings. A sheet that leaves its
    build open is tried on every build that the readings leave.

    Exits 1 when the claim damages something or defeats the guard.
    """
    from backprobe.report.trial_data import trial_data
    from backprobe.report.trial_words import all_joins_text, check_text, trial_text
    from backprobe.workbench.all_joins import all_joins
    from backprobe.workbench.trial import trial
    from backprobe.workbench.verdict import DAMAGES, DEFEATS

    words = [*([sheet] if job_id and sheet else []), *claim]
    with opened(target) if job_id else nullcontext() as store:
        job = open_job(store, job_id) if store is not None else None
        engine, taken = _given(sheet, job, readings, (typed, state))
        if plug:
            with progress("trying every join"):
                found = all_joins(engine, plug, taken, unplugged=not plugged)
            say_json(trial_data(None, found)) if as_json else say(all_joins_text(found))
            return 0
        if not words:
            raise wrong("CLAIM", "", "is missing", f"Write what was proposed, such as {EXAMPLE}, in quotes.")
        with progress("trying"):
            result = trial(engine, " ".join(words), taken, lasting=None if moment is None else not moment)
        check = _recorded(job, result, saw) if saw else None
    if as_json:
        say_json(trial_data(result, None, check))
    else:
        say("\n\n".join([trial_text(result), *([check_text(check)] if check else [])]))
    return int(result.verdict in {DEFEATS, DAMAGES})


def _given(
    sheet: str | None, job: Job | None, readings: str | None, typed: tuple[tuple[str, ...], str]
) -> tuple[Engine, list[Reading]]:
    """The engine of a job or of a sheet, and what suspects are ranked by."""
    from backprobe.jobs.standing import ranked_readings

    engine = job.engine if job else make_engine(read_sheet(sheet))
    taken = read_readings(engine.sheet, readings, *typed)
    return engine, [*(ranked_readings(job) if job else []), *taken]


def _recorded(job: Job | None, result: Trial, saw: str) -> AsCheck:
    """Put a momentary stand-in on the record of a job."""
    from backprobe.report.trial_data import check_data
    from backprobe.workbench.trial import as_check

    if job is None:
        raise wrong("--saw", saw, "has no job to stand in", "Add --job with the job's id.")
    if len(result.meanings) != 1:
        raise wrong("CLAIM", result.claim, "may mean several things", "Say which, such as `C2 unplugged`.")
    check = as_check(result.meanings[0], saw)
    job.store.append(job.record.id, "trial", dict(check_data(check)))
    return check


COMMAND = run

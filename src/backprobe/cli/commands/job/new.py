"""Open a job on a sheet."""

from __future__ import annotations

import click

from backprobe.cli.inputs import circumstance_option, json_option, make_engine, read_sheet
from backprobe.cli.jobs import opened, store_option
from backprobe.cli.output import progress, say, say_json


@click.command(
    "new", epilog='Example: backprobe job new sprayer.yaml --title "boom dead" --machine "sprayer 3"'
)
@click.argument("sheet", metavar="SHEET", required=False)
@click.option("--title", default="", help="The complaint in a few words; else the name of the sheet.")
@click.option("--machine", default="", help="Which machine it is.")
@circumstance_option
@store_option
@json_option
def run(
    sheet: str | None,
    title: str,
    machine: str,
    circumstances: tuple[str, ...],
    target: str | None,
    as_json: bool,
) -> None:
    """Open a job on a sheet; the sheet's text is kept with it.

    SHEET is a sheet file, - for standard input, or a typed circuit with > in it. One with a run that
    ends in the air, or with a battery that is not its machine's, is refused, and nothing is stored.
    """
    from backprobe.diagnosis.states import try_states
    from backprobe.jobs.job import Job
    from backprobe.report.job_words import new_text
    from backprobe.report.sheet_data import job_data
    from backprobe.report.sketch_words import complaint
    from backprobe.sheet.unworkable import refuse_unworkable

    found = read_sheet(sheet)
    # Before the store is touched: on a circuit that cannot be so no job is opened.
    refuse_unworkable(found)
    with progress("opening the job"):
        states = try_states(make_engine(found, circumstances), every=False)
    with opened(target) as store:
        job = Job.new(store, found, title=title, machine=machine, circumstances=dict.fromkeys(circumstances))
    record = job.record
    say_json({"job": job_data(record)}) if as_json else say(new_text(record, complaint(found, states)))


COMMAND = run

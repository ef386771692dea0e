"""Show a job: its log, its answer and the next check."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option
from backprobe.cli.jobs import judged, open_job, opened, store_option
from backprobe.cli.output import progress, say, say_json


@click.command("show", epilog="Example: backprobe job show")
@click.argument("job_id", metavar="[JOB]", required=False)
@store_option
@json_option
def run(job_id: str | None, target: str | None, as_json: bool) -> None:
    """Show a job: its log, what its readings say, and the next check.

    What was undone stays in the log, marked with x. Once it works after a repair, suspects are those
    that the repair was made by; what was read since stands apart. JOB may be left out while only one
    is open.
    """
    from backprobe.jobs.standing import standing_of
    from backprobe.report.data import answer_data
    from backprobe.report.job_words import log_lines
    from backprobe.report.past_words import past_lines, repair_data
    from backprobe.report.repair_words import repair_lines
    from backprobe.report.sheet_data import job_data
    from backprobe.report.words import answer_text

    with opened(target) as store, progress("ranking"):
        job = open_job(store, job_id)
        answer, checks = judged(job)
        record, standing = job.record, standing_of(job)
    if as_json:
        data = answer_data(answer, checks)
        say_json({"job": job_data(record), "repair": repair_data(job, standing), "answer": data})
        return
    lines = [*log_lines(record), ""]
    if standing.is_past:
        lines += [*past_lines(job, answer, standing), ""]
    lines += repair_lines(job, standing, told=standing.is_past)
    if not standing.is_past:
        lines += [*([""] if standing.repairs else []), answer_text(answer, checks)]
    say("\n".join(lines))


COMMAND = run

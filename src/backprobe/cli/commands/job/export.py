"""Write a job as one JSON file, to mail or to keep."""

from __future__ import annotations

import click

from backprobe.cli.inputs import STDIN, json_option, wrong
from backprobe.cli.jobs import find_job_id, opened, store_option
from backprobe.cli.output import say, say_json


@click.command("export", epilog="Example: backprobe job export -o job.json")
@click.argument("job_id", metavar="[JOB]", required=False)
@click.option(
    "-o", "--output", "file", metavar="FILE", default=STDIN, help="A new file; else standard output."
)
@store_option
@json_option
def run(job_id: str | None, file: str, target: str | None, as_json: bool) -> None:
    """Write a job as one JSON file, complete: another store makes the same job of it.

    JOB may be left out while only one is open.
    """
    from backprobe.jobs.exchange import export_job

    with opened(target) as store:
        job = store.job(find_job_id(store, job_id))
    if file == STDIN:
        say_json(export_job(job))
        return
    _write(file, export_job(job))
    say_json({"job": job.id, "file": file}) if as_json else say(f"Job {job.id} written to {file}")


def _write(file: str, data: object) -> None:
    import json
    from pathlib import Path

    try:
        with Path(file).open("x", encoding="utf-8") as out:
            out.write(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False) + "\n")
    except FileExistsError:
        raise wrong("--output", file, "exists already, and is left as it is", "Name a new file.") from None
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise wrong(
            "--output", file, f"cannot be written: {reason}", "Name a file in a folder you may write."
        ) from None


COMMAND = run

"""``backprobe demo``: three invented machines, from complaint to repair."""

from __future__ import annotations

import click

from backprobe.cli.output import progress, say, say_json


@click.command("demo")
@click.option("--store", "target", metavar="PATH|URL", help="Keep the jobs here; by default nothing is kept.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")
def COMMAND(target: str | None, as_json: bool) -> None:  # noqa: N802  (the name by which commands are found)
    """Show three jobs on an invented fleet, from complaint to repair.

    Each reading is ranked while you watch; nothing of what is printed is stored beforehand.

    \b
    Example:
      backprobe demo
    """
    from backprobe.demo.show import as_data, play_all
    from backprobe.demo.telling import end_lines, head_lines, last_lines, step_lines

    shows = play_all(":memory:" if target is None else target)
    if as_json:
        with progress("playing the jobs"):
            say_json([as_data(show.story, list(show.steps), show.job_id) for show in shows])
        return
    for number, show in enumerate(shows, 1):
        say("\n".join(head_lines(show.story, number, show.count)))
        steps = []
        for played in show.steps:
            steps.append(played)
            say("\n".join(step_lines(len(steps), played)))
        say("\n".join(end_lines(show.story, steps)))
        say(f"\nKept as job {show.job_id}.\n" if target else "")
    say("\n".join(last_lines()))

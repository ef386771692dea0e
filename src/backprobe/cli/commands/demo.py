"""Show three invented machines, from complaint to repair."""

from __future__ import annotations

import click

from backprobe.cli.inputs import json_option, wrong
from backprobe.cli.output import progress, say, say_json


@click.command(
    "demo",
    epilog="Example: backprobe demo\n\nExample: backprobe demo --store demo.db, then backprobe job list",
)
@click.option("--store", "target", metavar="TARGET", help="Keep the jobs in this file or database URL.")
@click.option("--sheet", "name", metavar="NAME", help="Print the sheet of one machine instead.")
@json_option
def run(target: str | None, name: str | None, as_json: bool) -> None:
    """Show three jobs on an invented fleet, from complaint to repair.

    Every line is worked out while you watch: the jobs hold only what a mechanic typed. Nothing
    is kept unless --store says where.
    """
    from backprobe.demo.show import as_data, play_all
    from backprobe.demo.story import NAMES, demo_sheet_text
    from backprobe.demo.telling import end_lines, head_lines, last_lines, step_lines

    if name is not None:
        if name not in NAMES:
            raise wrong("--sheet", name, "is no machine of the fleet", f"Use {', '.join(NAMES)}.")
        text = demo_sheet_text(name)
        say_json({"jobs": [], "sheet": text}) if as_json else say(text.rstrip())
        return
    shows = play_all(target or ":memory:")
    if as_json:
        with progress("playing the jobs"):
            data = [as_data(show) for show in shows]
        say_json({"jobs": data, "sheet": ""})
        return
    for number, show in enumerate(shows, 1):
        say("\n".join(head_lines(show.story, number, show.count)))
        steps = []
        for played in show.steps:
            steps.append(played)
            say("\n".join(step_lines(len(steps), played)))
        say("\n".join(end_lines(show.story, steps)))
        say(f"Kept       as job {show.job_id}\n" if target else "")
    say("\n".join(last_lines()))


COMMAND = run

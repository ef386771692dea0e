"""Take readings into a job and say what they change."""

from __future__ import annotations

import re

import click

from backprobe.cli import ask
from backprobe.cli.inputs import STDIN, json_option, read_text, wrong
from backprobe.cli.jobs import judged, open_job, opened, store_option
from backprobe.cli.output import progress, say, say_json

ID = re.compile(r"[0-9A-Za-z]{1,32}")
SHAPE = '"C2-3 to battery-: 4.78 V, key on, all plugged"'


@click.command(
    "read",
    context_settings={"ignore_unknown_options": True},
    epilog='Example: backprobe job read "boom dead, key on, gate shut, boom button pressed, all plugged"',
)
@click.argument("words", nargs=-1, metavar="[JOB] LINE...")
@store_option
@json_option
def run(words: tuple[str, ...], target: str | None, as_json: bool) -> None:
    """Take readings into a job and say what they change.

    Each LINE is one reading: what was seen, then operator state, plugs and what was attached,
    as far as they have changed since the last reading; - reads lines from standard input. On a
    terminal it asks for what is missing. JOB may be left out while only one is open.
    """
    from backprobe.diagnosis.coach import coach
    from backprobe.jobs.standing import standing_of
    from backprobe.report.coach_words import advice_lines
    from backprobe.report.data import advice_data, answer_data
    from backprobe.report.job_words import taken_lines
    from backprobe.report.past_words import repair_data
    from backprobe.report.repair_words import repair_lines
    from backprobe.report.sheet_data import entry_data
    from backprobe.report.words import brief_text

    name, lines = split_words(words)
    with opened(target) as store:
        job = open_job(store, name)
        entries = []
        for entry in ask.take_lines(job, lines or _typed_lines()):
            entries.append(entry)
            if not as_json:
                # At once: what was acknowledged is safe on the disk, whatever comes after.
                reading = job.readings()[-1]
                lines_of = taken_lines(entry, reading, job.sheet)
                say("\n".join([*lines_of, *advice_lines(coach(job.engine, reading))]))
        with progress("ranking"):
            answer, checks = judged(job)
        if as_json:
            data = {"job": job.record.id, "entries": [entry_data(e) for e in entries]}
            taken = job.readings()[-len(entries) :] if entries else []
            mind = [advice_data(coach(job.engine, reading)) for reading in taken]
            repair = repair_data(job, standing_of(job))
            say_json({**data, "mind": mind, "repair": repair, "answer": answer_data(answer, checks)})
        else:
            standing = standing_of(job)
            after = repair_lines(job, standing)
            told = [] if standing.to_prove else brief_text(answer, checks).split("\n")
            say("\n".join(["", *after, *([""] if after and told else []), *told]))


def split_words(words: tuple[str, ...]) -> tuple[str | None, list[str]]:
    """The job, if the first word can be one, and the lines.

    Words without blanks are one line, typed without quotes.
    """
    name: str | None = None
    rest = list(words)
    if (
        len(rest) > 1
        and ID.fullmatch(rest[0])
        and (" " in rest[1] or rest[1] == STDIN or _looks_like_id(rest[0]))
    ):
        name, rest = rest[0], rest[1:]
    if STDIN in rest:
        text = read_text(STDIN, "LINE")
        return name, [line for raw in text.splitlines() if (line := raw.split("#", 1)[0].strip())]
    if rest and not any(" " in word for word in rest):
        return name, [" ".join(rest)] if len(rest) > 1 else _single(rest[0])
    return name, rest


def _looks_like_id(word: str) -> bool:
    """Whether a word is more likely a job than the name of a part or a point."""
    return len(word) >= 5 and any(c.isdigit() for c in word) and word == word.lower()


def _single(word: str) -> list[str]:
    raise wrong("LINE", word, "is one word, and a reading says more", f"Type such as {SHAPE}, in quotes.")


def _typed_lines() -> list[str]:
    if not ask.is_terminal():
        raise wrong("LINE", "", "is missing", f"Type such as {SHAPE}, in quotes; or - for standard input.")
    return [str(click.prompt("What was seen?", err=True))]


COMMAND = run

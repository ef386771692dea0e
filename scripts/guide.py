"""Runs the commands of the guide in one folder with one store, in order, and gives what they print.

Words after the colon: the command as typed, then ``;; N lines`` to show only its beginning or
``;; quiet`` to show nothing of it.
"""

from __future__ import annotations

import os
import re
import shlex
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from itertools import cycle
from pathlib import Path
from unittest.mock import patch

from click.testing import CliRunner

from backprobe.cli.main import app
from backprobe.jobs.store import Store

BEGUN = datetime(2026, 5, 6, 7, 30, tzinfo=UTC)
"""When the job of the guide begins; each entry takes four minutes."""


@contextmanager
def maker() -> Iterator[Callable[[str], str]]:
    """Give a function that runs one command and returns it with its output as a code block."""
    letters = cycle("k7m2p")
    minutes = iter(range(0, 600, 4))
    plain = Store.open

    def opened(target: str | Path | None = None) -> Store:
        return plain(
            target, clock=lambda: BEGUN + timedelta(minutes=next(minutes)), choose=lambda _: next(letters)
        )

    home = Path.cwd()
    with tempfile.TemporaryDirectory() as folder, patch.object(Store, "open", opened):
        os.chdir(folder)
        try:
            with patch.dict(os.environ, {"BACKPROBE_STORE": str(Path(folder) / "jobs.db")}):
                yield block
        finally:
            os.chdir(home)


def block(words: str) -> str:
    """Run one command line and give its code block."""
    line, _, rest = words.partition(" ;; ")
    command, _, file = line.partition(" > ") if not re.search(r'"[^"]* > ', line) else (line, "", "")
    result = CliRunner().invoke(app, shlex.split(command.removeprefix("backprobe ")), prog_name="backprobe")
    if result.exit_code not in {0, 1}:
        raise RuntimeError(f"{line}: exit {result.exit_code}: {result.output}") from result.exception
    if file:
        Path(file).write_text(result.output, encoding="utf-8")
    shown = [] if file or rest == "quiet" else shorten(result.stdout.rstrip().splitlines(), rest)
    return "\n".join(["```console", f"$ {line}", *shown, "```"])


def shorten(lines: list[str], rest: str) -> list[str]:
    """The first lines, as many as were asked for."""
    wanted = re.fullmatch(r"(\d+) lines", rest)
    if not wanted or len(lines) <= int(wanted[1]):
        return lines
    kept = lines[: int(wanted[1])]
    while kept and not kept[-1].strip():
        kept.pop()
    return [*kept, "..."]

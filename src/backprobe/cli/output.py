"""What reaches the screen: text that any terminal can show, JSON, warnings and a sign of life."""

from __future__ import annotations

import json
import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO

import click

PLAIN = str.maketrans({"Ω": "ohm", "µ": "u", "²": "2", "±": "+-", "°": "deg ", "×": "x"})
"""What to write where a terminal knows no such sign."""
PATIENCE = 1.0
"""Seconds of silence before a line says that work is going on [s]."""


def fits(text: str, stream: IO[str]) -> str:
    """The text as the stream's encoding can carry it."""
    encoding = getattr(stream, "encoding", None) or "utf-8"
    for candidate in (text, text.translate(PLAIN)):
        try:
            candidate.encode(encoding)
        except UnicodeEncodeError:
            continue
        return candidate
    return text.translate(PLAIN).encode(encoding, "backslashreplace").decode(encoding)


def say(text: str) -> None:
    """Write text to standard output."""
    click.echo(fits(text, sys.stdout))


def warn(text: str) -> None:
    """Write text to standard error."""
    click.echo(fits(text, sys.stderr), err=True)


def say_json(data: object) -> None:
    """Write one JSON document to standard output."""
    click.echo(fits(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False), sys.stdout))


@contextmanager
def progress(what: str) -> Iterator[None]:
    """Say on standard error that work goes on, when it takes more than a second."""
    timer = threading.Timer(PATIENCE, lambda: warn(f"still {what} ..."))
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


def drop_output() -> None:
    """Send what is still unwritten nowhere, so that leaving stays quiet."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError, AttributeError):
        # A captured stream has no descriptor and nothing left to write.
        return

"""One tree of errors: each names the offending thing and says what would be right.

Every error a user can cause derives from `BackprobeError`; the command line turns it
into one message and exit code 2, so no traceback reaches a mechanic.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with an input, and the remedy.

    Parameters
    ----------
    field
        Dotted path of the field, such as ``parts.gate sensor.supply``.
    value
        The offending text, as written.
    message
        What is wrong with it.
    remedy
        What would be right.
    file
        Name of the input; ``-`` for standard input, empty when there is none.
    line
        Line number counted from 1; 0 when the input has no lines.
    """

    field: str
    value: str
    message: str
    remedy: str
    file: str = ""
    line: int = 0

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        head = ": ".join(p for p in (place, self.field) if p)
        shown = f" '{self.value}'" if self.value else ""
        lead = f"{head}:{shown} " if head else (f"{shown.strip()} " if shown else "")
        return f"{lead}{self.message}. {self.remedy}".rstrip()


class BackprobeError(Exception):
    """Base of all errors that a user's input can cause."""

    def __init__(self, *problems: Problem) -> None:
        self.problems = problems
        super().__init__("\n".join(str(p) for p in problems))


class UnitError(BackprobeError, ValueError):
    """A value that cannot be read, or a unit that does not fit its field."""


class SheetError(BackprobeError, ValueError):
    """A sheet that cannot be used as it stands."""


class ReadingError(BackprobeError, ValueError):
    """A reading line that cannot be understood, or that lacks what every reading must know."""


class StoreError(BackprobeError, OSError):
    """A job store that cannot be opened, read or written."""


class JobError(BackprobeError, LookupError):
    """A job, or an entry of a job, that does not exist or cannot be used."""

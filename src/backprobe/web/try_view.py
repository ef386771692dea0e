"""What to try after a repair, in the reader's words: for the page and for the report to be signed."""

from __future__ import annotations

from dataclasses import dataclass

from backprobe.diagnosis.guard_tries import guard_tries
from backprobe.report.repair_words import where_words
from backprobe.report.setup_words import parts_of
from backprobe.web.desk import Work
from backprobe.web.texts import Texts


@dataclass(frozen=True, slots=True)
class Try:
    """One function in one operator state.

    Parameters
    ----------
    opens
        What opens the guard, such as ``seat empty``; empty with every guard shut.
    """

    function: str
    where: str
    opens: str
    works: bool


def tries_of(work: Work, spoken: Texts) -> list[Try]:
    """Every guard of every function, one at a time, then the function itself."""
    return [
        Try(
            t.function,
            ", ".join(spoken.said(p) for p in parts_of(t.setup, work.sheet))
            if t.setup is not None
            else spoken.said(where_words(t, work.sheet)),
            t.open_guard,
            t.works,
        )
        for t in guard_tries(work.engine)
    ]

"""What was read, in the reader's language: its kind in words, its points and numbers as they were typed."""

from __future__ import annotations

from backprobe.diagnosis.answer import Answer
from backprobe.readings.model import Reading
from backprobe.report.reading_words import as_typed, with_place
from backprobe.web.texts import Texts

READ = "read: "
"""Before a typed line, so that its patterns are not those of a fault: ``wire A to B: broken`` is none."""


def line_words(line: str, spoken: Texts) -> str:
    """A line of the log in the reader's language; as it was typed where it is of no known kind."""
    said = spoken.said(READ + line)
    return line if said.startswith(READ) else said


def read_words(reading: Reading, spoken: Texts) -> str:
    """What was seen, without the setup."""
    return line_words(as_typed(reading), spoken)


def told_words(answer: Answer, text: str, spoken: Texts) -> str:
    """A sentence of the engine in which readings are quoted, these in the reader's words too."""
    quoted: dict[str, str] = {}
    for reading in answer.readings.all:
        quoted[with_place(answer, reading)] = placed_words(answer, reading, spoken)
        quoted[as_typed(reading)] = read_words(reading, spoken)
    # The longest first: one may be the beginning of another.
    lines = [line for line in sorted(quoted, key=len, reverse=True) if line in text]
    for k, line in enumerate(lines):
        text = text.replace(line, f"\0{k}\0")
    told = spoken.said(text)
    for k, line in enumerate(lines):
        told = told.replace(f"\0{k}\0", quoted[line])
    return told


def placed_words(answer: Answer, reading: Reading, spoken: Texts) -> str:
    """A reading with what sets its setup apart from those of the others."""
    typed = as_typed(reading)
    return line_words(typed, spoken) + spoken.said(with_place(answer, reading).removeprefix(typed))

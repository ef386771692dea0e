"""A sketched sheet with its reasons, all as one sheet file: what is not the sheet stands in comments."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from shlex import quote

from backprobe.diagnosis.states import States
from backprobe.report.assumed import origin_words
from backprobe.report.guard_words import guard_lines
from backprobe.report.layout import FIRST, WIDTH, joined, listed, wrap
from backprobe.report.setup_words import setup_words
from backprobe.report.sheet_words import oddities
from backprobe.report.value_words import default_lines, implied_lines
from backprobe.sheet.model import Sheet
from backprobe.sheet.unworkable import unworkable
from backprobe.workbench.sanity import sanity

EXAMPLE_FILE = "my-sheet.yaml"


def sketch_report(sheet: Sheet, states: States, written: str = "") -> str:
    """The sheet's text, then in comments what was assumed, what it asks and what to do next.

    Parameters
    ----------
    written
        Name of the file it was written to; empty when it was not.
    """
    blocks = [
        [line for told in guard_lines(sheet) for line in _comment(told)],
        _titled("Assumed, because it was not typed:", [*default_lines(sheet), *_whole(implied_lines(sheet))]),
        _titled("Asks:", list(sheet.unknown)),
        _titled("Look:", _odd(sheet, states)),
        _functions(sheet, states),
        _next(sheet, states, written),
        _comment(FIRST),
    ]
    return f"{sheet.text.rstrip()}\n\n{joined(*blocks)}"


def written_report(sheet: Sheet, states: States, file: str) -> str:
    """What a sketch became, where it was written and what to type next; the assumptions stand in the file.

    Parameters
    ----------
    file
        Where the whole sheet stands.
    """
    first = complaint(sheet, states)
    commands = [
        f'backprobe job new {quote(file)} --title "{first.partition(",")[0]}"',
        f'backprobe job read "{first}"',
        f"backprobe predict {quote(file)}",
    ]
    return joined(
        wrap(f"{sheet.name}: written to {file}"),
        [line for told in _told(sheet, states) for line in wrap(told, "", "   ")],
        _list("Asks", sheet.unknown),
        _list("Look", _odd(sheet, states)),
        wrap(f"Values: {origin_words(sheet)}. Each stands in {file} with its reason, and under --json."),
        ["Next", *(f"   {c}" for c in commands)],
        wrap(FIRST),
    )


def _odd(sheet: Sheet, states: States) -> list[str]:
    """What looks odd, and numbers that cannot be so."""
    told = {p.field for p in unworkable(sheet)}
    numbers = (f for f in sanity(sheet) if f.field not in told)
    return [*oddities(sheet, states), *(f"{f.field} {f.value}: {f.arithmetic}. {f.right}" for f in numbers)]


def _told(sheet: Sheet, states: States) -> list[str]:
    if not sheet.functions:
        return ["No function found: no load stands at the end of a run."]
    works = ((f.name, states.works.get(f.name)) for f in sheet.functions.values())
    told = [f"{name} should work with {setup_words(s, sheet)}" for name, s in works if s is not None]
    return [*told, *guard_lines(sheet)]


def _list(title: str, items: Iterable[str]) -> list[str]:
    lines = [line for item in items for line in wrap(item, "   ", "     ")]
    return [title, *lines] if lines else []


def complaint(sheet: Sheet, states: States) -> str:
    """A complaint as one would type it: the first function dead where it should work."""
    name = next(iter(sheet.functions), "")
    setup = states.works.get(name) or states.best
    if not name:
        return "battery+ to battery-: 12.4 V"
    return f"{name} dead, {setup_words(setup, sheet)}" if setup and setup.state else f"{name} dead"


def _functions(sheet: Sheet, states: States) -> list[str]:
    lines = [] if sheet.functions else _comment("No function found: no load stands at the end of a run.")
    for f in sheet.functions.values():
        setup = states.works.get(f.name)
        where = f", works with {setup_words(setup, sheet)}" if setup else ""
        lines += _comment(f"Function {f.name}: load {listed(f.loads)}{where}")
    return lines


def _next(sheet: Sheet, states: States, written: str) -> list[str]:
    file = written or EXAMPLE_FILE
    head = "Next:" if written else f"Next (with this written to a file by --write {file}):"
    lines = [
        f'backprobe rank {file} --reading "{complaint(sheet, states)}"',
        f"backprobe predict {file}",
        f"backprobe job new {file}",
    ]
    # A command is not wrapped: it is there to be copied.
    return [*_comment(head), *(f"#   {line}" for line in lines)]


def _titled(title: str, items: list[str]) -> list[str]:
    if not items:
        return []
    return [*_comment(title), *(line for item in items for line in _comment(item, "#   ", "#     "))]


def _whole(lines: list[str]) -> list[str]:
    """Wrapped lines as whole paragraphs again."""
    out: list[str] = []
    for line in lines:
        if line.startswith(" ") and out:
            out[-1] += " " + line.strip()
        else:
            out.append(line)
    return out


def _comment(text: str, first: str = "# ", then: str = "# ") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=then, break_on_hyphens=False)

"""Templates in words: the list of them, and what to do with a sheet that was just begun from one."""

from __future__ import annotations

from collections.abc import Sequence
from shlex import quote

from backprobe.diagnosis.plan import End, Plan, Step
from backprobe.report.assumed import origin_counts
from backprobe.report.check_words import do_words
from backprobe.report.data import Json, Object, check_data
from backprobe.report.layout import FIRST, count, joined, minutes, wrap
from backprobe.report.plan_words import complaint_words, end_words
from backprobe.report.setup_words import setup_words
from backprobe.sheet.model import Sheet
from backprobe.sheet.templates import Template

HOW = "Begin a sheet with one of them:"
EXAMPLE = "backprobe sheet new --from start-chain"
WIDE = (
    "Every value is assumed or a default, and wide. Readings narrow them; write down what you know, and "
    "strike out what this machine lacks."
)


def templates_text(found: Sequence[Template]) -> str:
    """All templates, each with what it is for."""
    lines = [line for t in found for line in [t.name, *wrap(t.about, "   ")]]
    return joined(lines, [HOW, f"   {EXAMPLE}"], wrap(FIRST))


def templates_data(found: Sequence[Template]) -> Object:
    """The list, with no file written."""
    return _data([{"name": t.name, "about": t.about} for t in found])


def written_text(sheet: Sheet, file: str) -> str:
    """Where the sheet is and what it is called."""
    return "\n".join(wrap(f"{sheet.name}: written to {file}"))


def unknown_text(sheet: Sheet, file: str) -> str:
    """What is still unknown in a new sheet, what to fill in first, and what to type next.

    Parameters
    ----------
    file
        Where the sheet stands.
    """
    values = sum(origin_counts(sheet).values())
    unknown = [line for q in sheet.unknown for line in wrap(q, "   ", "     ")]
    notes = [line for note in sheet.notes for line in wrap(note, "   ", "     ")]
    commands = [
        "Next:",
        f"   backprobe sheet show {quote(file)} --svg {quote(_beside(file))}",
        f"   backprobe plan {quote(file)}",
        f"   backprobe job new {quote(file)}",
    ]
    return joined(
        [f"Still unknown, {count(values, 'value')} in all", *unknown, *wrap(WIDE, "   ")],
        ["Notes", *notes] if notes else [],
        commands,
    )


def first_text(plan: Plan) -> str:
    """What to read first: the first check of the plan."""
    return joined(["Read first", *_first(plan)], wrap(FIRST))


def begun_data(template: Template, plan: Plan, file: str) -> Object:
    """The sheet that was begun, and what to read first."""
    sheet = plan.engine.sheet
    return _data(
        [{"name": template.name, "about": template.about}],
        written=file,
        sheet=sheet.name,
        first=_first_data(plan.first),
        unknown=list(sheet.unknown),
        notes=list(sheet.notes),
    )


def _first_data(first: Step | End) -> Json:
    if isinstance(first, End):
        return None
    check = check_data(first.check)
    return {key: check[key] for key in ("do", "setup", "minutes", "cautions")}


def _data(found: list[Json], **begun: Json) -> Object:
    empty: Object = {"written": "", "sheet": "", "first": None, "unknown": [], "notes": []}
    return {"templates": found, **empty, **begun}


def _first(plan: Plan) -> list[str]:
    head = wrap(f"for {complaint_words(plan)}", "   ", "     ")
    first = plan.first
    if isinstance(first, End):
        return [*head, *wrap(end_words(first), "   ", "     ")]
    check = first.check
    where = setup_words(check.candidate.setup, plan.engine.sheet)
    lines = wrap(f"{do_words(check)}; with {where} ({minutes(first.minutes)})", "   ", "     ")
    return head + lines + [line for c in check.cautions for line in wrap(c, "   CAUTION  ", "     ")]


def _beside(file: str) -> str:
    """The name of a drawing beside a sheet file."""
    stem, dot, _ = file.rpartition(".")
    return f"{stem if dot else file}.svg"

"""A sheet as plain text: the runs drawn from source to return, then everything it says."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import States
from backprobe.errors import Problem
from backprobe.readings.points import reachable_points
from backprobe.report.assumed import origin_words
from backprobe.report.guard_words import NO_GUARD, guard_lines
from backprobe.report.layout import FIRST, count, joined, listed, wrap
from backprobe.report.setup_words import setup_words
from backprobe.report.value_words import closed_words, implied_lines, part_lines
from backprobe.sheet.model import Function, Item, Run, Sheet
from backprobe.sheet.unworkable import unworkable

LEGEND = "o a lead can touch it, # a part (and before and after it), | a wire"


def check_line(sheet: Sheet, engine: Engine) -> str:
    """The one line of a good sheet."""
    return (
        f"{sheet.file}: good, {count(len(sheet.parts), 'part')}, "
        f"{count(len(reachable_points(sheet)), 'point')}, "
        f"{count(len(engine.catalogue.modes), 'fault')}; values: {origin_words(sheet)}"
    )


def check_text(sheet: Sheet, engine: Engine, states: States) -> str:
    """A good sheet: its line, what it asks, and what looks odd."""
    lines = wrap(check_line(sheet, engine), "", "   ")
    lines += [line for told in guard_lines(sheet) for line in wrap(told, "   ", "     ")]
    lines += [line for q in sheet.unknown for line in wrap(q, "   asks  ")]
    lines += [line for odd in oddities(sheet, states) for line in wrap(odd, "   look  ")]
    return "\n".join(lines)


def oddities(sheet: Sheet, states: States) -> list[str]:
    """What no job is opened on, and what a sound circuit of this sheet does that hardly anybody means."""
    found = [f"{p.value} {p.message}. {p.remedy}" for p in unworkable(sheet)]
    for name, setup in states.works.items():
        if setup is None and states.complete and name not in states.unguarded:
            found.append(f"{name} works in no operator state: look at its run, its rule and its values")
    for name, setup in states.unguarded.items():
        guard = sheet.functions[name].guard
        found.append(f"{name} works without its guard ({guard}) with {setup_words(setup, sheet)}")
    return found


def problems_text(problems: Sequence[Problem]) -> str:
    """What is wrong with a sheet, one paragraph each."""
    return "\n".join(line for p in problems for line in wrap(str(p), "", "   "))


def sheet_text(sheet: Sheet, states: States) -> str:
    """The whole sheet for a terminal of 80 columns."""
    head = [*wrap(sheet.name), f"{sheet.system_volts:g} V system"]
    head += [
        line
        for c in sheet.controls.values()
        if not c.remembered
        for line in wrap(f"{c.name}: {listed(c.positions, 'or')}", "   ")
    ]
    drawn = [p for p in sheet.parts.values() if not p.implied]
    blocks = [head, ["Runs: " + LEGEND]]
    blocks += [_run(run, sheet) for run in sheet.runs.values()]
    blocks += [["Parts"], *(part_lines(p) for p in drawn)]
    blocks.append(["Not drawn, so assumed:", *implied_lines(sheet)] if implied_lines(sheet) else [])
    blocks.append(_connectors(sheet))
    blocks.append(_latches(sheet))
    blocks += [_function(f, sheet, states) for f in sheet.functions.values()]
    blocks.append(_lamps(sheet))
    blocks.append(_titled("Look", oddities(sheet, states)))
    blocks.append(_titled("Asks", sheet.unknown))
    blocks.append(_titled("Notes", sheet.notes))
    blocks.append([line for c in sheet.cautions for line in wrap(c, "CAUTION  ")])
    return joined(*blocks, wrap(FIRST))


def _titled(title: str, items: Sequence[str]) -> list[str]:
    return [title, *(line for item in items for line in wrap(item, "   ", "     "))] if items else []


def _run(run: Run, sheet: Sheet) -> list[str]:
    lines = [run.name]
    for item in run.items:
        sign, text = _drawn(item, sheet)
        lines += wrap(text, f"   {sign}  ", "   |    ")
    return lines


def _drawn(item: Item, sheet: Sheet) -> tuple[str, str]:
    part = sheet.parts.get(item.part)
    if item.role in {"point", "cavity"} or part is None:
        return "o", item.text
    text = item.text if not part.implied else f"({item.part})"
    if part.kind == "wire":
        return "|", f"  {text}"
    if part.kind == "switch":
        return "#", f"{text}, closed with {closed_words(part)}"
    return "#", text


def _function(f: Function, sheet: Sheet, states: States) -> list[str]:
    words = [f"released when {f.releases}"] if f.releases else []
    words += [f"driven by {listed(f.drives)}"] if f.drives else []
    words += [f"load {listed(f.loads)}"] if f.loads else []
    words.append(f"guard: {f.guard}" if f.guard else NO_GUARD)
    lines = wrap(f"Function {f.name}: {'; '.join(words)}", "", "   ")
    setup = states.works.get(f.name)
    return lines + (wrap(f"works with {setup_words(setup, sheet)}", "   ") if setup else [])


def _connectors(sheet: Sheet) -> list[str]:
    lines: list[str] = []
    for c in sheet.connectors.values():
        on = f" on {c.part}" if c.part else ""
        lines += wrap(f"{c.name}{on}, {c.minutes:g} min to reach: {listed(c.cavities)}", "   ", "     ")
        lines += wrap(c.caution, "     CAUTION  ") if c.caution else []
    return ["Connectors", *lines] if lines else []


def _latches(sheet: Sheet) -> list[str]:
    lines: list[str] = []
    for latch in sheet.latches.values():
        done = listed([f"{s.control} {s.position}" for s in latch.by])
        rules = f"set when {latch.sets}; cleared when {latch.clears}; " if latch.sets else ""
        lines += wrap(f"Latch {latch.name}: {rules}set by {done}", "", "   ")
    return lines


def _lamps(sheet: Sheet) -> list[str]:
    return [
        line
        for name, patterns in sheet.lamps.items()
        for line in wrap(f"Lamp {name}: " + "; ".join(f"{p} when {rule}" for p, rule in patterns), "", "   ")
    ]

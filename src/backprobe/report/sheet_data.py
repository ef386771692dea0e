"""Sheets and jobs as plain JSON values; `backprobe.report.schemas` describes them."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.diagnosis.engine import Engine
from backprobe.diagnosis.states import States
from backprobe.errors import Problem
from backprobe.jobs.log import Entry, Job, JobLine, format_time, undone
from backprobe.readings.points import reachable_points
from backprobe.report.assumed import origin_counts
from backprobe.report.data import Json, Object, number, problem_data, setup_data
from backprobe.report.job_words import entry_words
from backprobe.report.sheet_words import oddities
from backprobe.sheet.anatomy import Band, Value
from backprobe.sheet.model import Part, Sheet


def sheet_data(sheet: Sheet, states: States) -> Object:
    """Everything a sheet says, defaults filled in and marked."""
    return {
        "sheet": sheet.name,
        "system_volts": number(sheet.system_volts),
        "controls": {c.name: list(c.positions) for c in sheet.controls.values()},
        "bodies": list(sheet.bodies),
        "runs": {
            run.name: [
                {"text": i.text, "part": i.part, "enter": i.enter, "leave": i.leave, "role": i.role}
                for i in run.items
            ]
            for run in sheet.runs.values()
        },
        "parts": [part_data(p) for p in sheet.parts.values()],
        "connectors": {
            c.name: {
                "cavities": list(c.cavities),
                "part": c.part,
                "minutes": number(c.minutes),
                "caution": c.caution,
            }
            for c in sheet.connectors.values()
        },
        "points": [p.name for p in reachable_points(sheet)],
        "latches": [
            {
                "name": latch.name,
                "set_when": latch.sets,
                "clear_when": latch.clears,
                "set_by": [f"{s.control} {s.position}" for s in latch.by],
            }
            for latch in sheet.latches.values()
        ],
        "functions": [_function(name, sheet, states) for name in sheet.functions],
        "lamps": {name: dict(patterns) for name, patterns in sheet.lamps.items()},
        "origins": dict(origin_counts(sheet)),
        "looks_odd": list(oddities(sheet, states)),
        "asks": list(sheet.unknown),
        "cautions": list(sheet.cautions),
        "notes": list(sheet.notes),
    }


def sketch_data(sheet: Sheet, states: States, written: str) -> Object:
    """A sketched sheet: the text of its file, and what it says."""
    return {"text": sheet.text, "written": written, "content": sheet_data(sheet, states)}


def part_data(part: Part) -> Object:
    """A part with its values."""
    return {
        "name": part.name,
        "kind": part.kind,
        "drawn": not part.implied,
        "values": {name: value_data(v) for name, v in part.values.items()},
        "levels": {str(state): value_data(v) for state, v in part.levels.items()},
        "closed": {control: sorted(on) for control, on in part.closed.items()},
        "texts": dict(part.texts),
        "pins": [
            {
                "name": pin.name,
                "role": pin.role,
                "values": {name: value_data(v) for name, v in pin.values.items()},
                "bands": [_band(b) for b in pin.bands],
                "texts": dict(pin.texts),
            }
            for pin in part.pins.values()
        ],
        "minutes": None if part.minutes is None else number(part.minutes),
        "caution": part.caution,
    }


def _band(band: Band) -> Object:
    """A band with its edges while the volts go up, and where they differ going down."""
    falling = None
    if band.falling is not None:
        falling = {"low": number(band.falling[0]), "high": number(band.falling[1])}
    return {"low": number(band.low), "high": number(band.high), "meaning": band.meaning, "falling": falling}


def value_data(value: Value) -> Object:
    """A value with its tolerance and origin; a level has no unit and is a share."""
    return {
        "nominal": number(value.nominal),
        "low": number(value.low),
        "high": number(value.high),
        "unit": value.unit,
        "origin": value.origin.kind,
        "note": value.origin.note,
    }


def _function(name: str, sheet: Sheet, states: States) -> Object:
    f = sheet.functions[name]
    works = states.works.get(name)
    return {
        "name": f.name,
        "releases_when": f.releases,
        "drives": list(f.drives),
        "loads": list(f.loads),
        "guard": f.guard,
        "works_with": None if works is None else setup_data(works),
    }


def check_file_data(
    file: str, checked: tuple[Sheet, Engine, States] | None, problems: Sequence[Problem]
) -> Object:
    """One checked file: what is in it, or what is wrong with it."""
    found: list[Json] = [problem_data(p) for p in problems]
    data: Object = {"file": file, "good": checked is not None, "problems": found}
    if checked is None:
        return {**data, "parts": 0, "points": 0, "faults": 0, "origins": {}, "asks": [], "looks_odd": []}
    sheet, engine, states = checked
    return {
        **data,
        "parts": len(sheet.parts),
        "points": len(reachable_points(sheet)),
        "faults": len(engine.catalogue.modes),
        "origins": dict(origin_counts(sheet)),
        "asks": list(sheet.unknown),
        "looks_odd": list(oddities(sheet, states)),
    }


def entry_data(entry: Entry, *, stands: bool = True) -> Object:
    """One entry of a log."""
    return {
        "number": entry.number,
        "kind": entry.kind,
        "at": format_time(entry.at),
        "stands": stands,
        "words": entry_words(entry),
    }


def job_data(job: Job) -> Object:
    """A job with its log, undone entries marked."""
    gone = undone(job.entries)
    return {
        "id": job.id,
        "title": job.title,
        "machine": job.machine,
        "sheet": job.sheet_name,
        "open": job.is_open,
        "entries": [entry_data(e, stands=e.number not in gone) for e in job.entries],
    }


def jobs_data(lines: Sequence[JobLine]) -> Object:
    """The list of jobs, newest first."""
    return {
        "jobs": [
            {
                "id": line.id,
                "title": line.title,
                "machine": line.machine,
                "opened_at": format_time(line.opened_at),
                "last_at": format_time(line.last_at),
                "readings": line.readings,
                "open": line.is_open,
            }
            for line in lines
        ]
    }

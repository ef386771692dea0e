"""Backprobe finds why a guard circuit holds a mobile machine dead.

>>> import backprobe as bp
>>> sheet = bp.sketch("battery+ > fuse F1 5 A > key > seat switch > relay coil K1 90 ohm > frame")
>>> answer = bp.rank(sheet, "relay K1 dead, key on, seat seated")
>>> check = bp.next_checks(answer)[0]

Names are loaded when first used, so that importing the package stays quick.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

__version__ = "0.1.0"

_HOMES = {
    "load_sheet": "backprobe.sheet.reader",
    "parse_sheet": "backprobe.sheet.reader",
    "sketch": "backprobe.sheet.sketch",
    "Sheet": "backprobe.sheet.model",
    "Engine": "backprobe.diagnosis.engine",
    "Answer": "backprobe.diagnosis.answer",
    "Check": "backprobe.diagnosis.check",
    "rank": "backprobe.api",
    "next_checks": "backprobe.api",
    "predict": "backprobe.api",
    "Expected": "backprobe.api",
    "stop_rule": "backprobe.diagnosis.stop",
    "splitting_check": "backprobe.diagnosis.split",
    "works_with": "backprobe.diagnosis.states",
    "Reading": "backprobe.readings.model",
    "parse_reading": "backprobe.readings.lines",
    "parse_readings": "backprobe.readings.lines",
    "Setup": "backprobe.circuit.setup",
    "make_setup": "backprobe.circuit.setup",
    "Job": "backprobe.jobs.job",
    "BackprobeError": "backprobe.errors",
    "SheetError": "backprobe.errors",
    "ReadingError": "backprobe.errors",
    "UnitError": "backprobe.errors",
    "StoreError": "backprobe.errors",
    "JobError": "backprobe.errors",
}


__all__ = [
    "Answer",
    "BackprobeError",
    "Check",
    "Engine",
    "Expected",
    "Job",
    "JobError",
    "Reading",
    "ReadingError",
    "Setup",
    "Sheet",
    "SheetError",
    "StoreError",
    "UnitError",
    "load_sheet",
    "make_setup",
    "next_checks",
    "parse_reading",
    "parse_readings",
    "parse_sheet",
    "predict",
    "rank",
    "sketch",
    "splitting_check",
    "stop_rule",
    "works_with",
]


def __getattr__(name: str) -> object:
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module 'backprobe' has no attribute '{name}'")
    return getattr(importlib.import_module(home), name)


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOMES])


if TYPE_CHECKING:
    from backprobe.api import Expected as Expected
    from backprobe.api import next_checks as next_checks
    from backprobe.api import predict as predict
    from backprobe.api import rank as rank
    from backprobe.circuit.setup import Setup as Setup
    from backprobe.circuit.setup import make_setup as make_setup
    from backprobe.diagnosis.answer import Answer as Answer
    from backprobe.diagnosis.check import Check as Check
    from backprobe.diagnosis.engine import Engine as Engine
    from backprobe.diagnosis.split import splitting_check as splitting_check
    from backprobe.diagnosis.states import works_with as works_with
    from backprobe.diagnosis.stop import stop_rule as stop_rule
    from backprobe.errors import BackprobeError as BackprobeError
    from backprobe.errors import JobError as JobError
    from backprobe.errors import ReadingError as ReadingError
    from backprobe.errors import SheetError as SheetError
    from backprobe.errors import StoreError as StoreError
    from backprobe.errors import UnitError as UnitError
    from backprobe.jobs.job import Job as Job
    from backprobe.readings.lines import parse_reading as parse_reading
    from backprobe.readings.lines import parse_readings as parse_readings
    from backprobe.readings.model import Reading as Reading
    from backprobe.sheet.model import Sheet as Sheet
    from backprobe.sheet.reader import load_sheet as load_sheet
    from backprobe.sheet.reader import parse_sheet as parse_sheet
    from backprobe.sheet.sketch import sketch as sketch

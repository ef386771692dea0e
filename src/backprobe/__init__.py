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
    "templates": "backprobe.sheet.templates",
    "template": "backprobe.sheet.templates",
    "Template": "backprobe.sheet.templates",
    "Sheet": "backprobe.sheet.model",
    "Engine": "backprobe.diagnosis.engine",
    "Answer": "backprobe.diagnosis.answer",
    "Check": "backprobe.diagnosis.check",
    "rank": "backprobe.api",
    "next_checks": "backprobe.api",
    "plan": "backprobe.api",
    "pocket": "backprobe.report.pocket.page",
    "Plan": "backprobe.diagnosis.plan",
    "predict": "backprobe.api",
    "Expected": "backprobe.api",
    "stop_rule": "backprobe.diagnosis.stop",
    "coach": "backprobe.diagnosis.coach",
    "coach_setup": "backprobe.diagnosis.coach",
    "doubts": "backprobe.diagnosis.doubts",
    "live_ohms": "backprobe.diagnosis.doubts",
    "splitting_check": "backprobe.diagnosis.split",
    "works_with": "backprobe.diagnosis.states",
    "Reading": "backprobe.readings.model",
    "parse_reading": "backprobe.readings.lines",
    "parse_readings": "backprobe.readings.lines",
    "Setup": "backprobe.circuit.setup",
    "make_setup": "backprobe.circuit.setup",
    "minimal_diagnoses": "backprobe.diagnosis.minimal",
    "expected_codes": "backprobe.diagnosis.expected_codes",
    "supervise": "backprobe.workbench.supervision",
    "supervising_pairs": "backprobe.workbench.supervision",
    "source_from_loads": "backprobe.workbench.thevenin",
    "parse_accuracy": "backprobe.readings.meter",
    "Job": "backprobe.jobs.job",
    "draw": "backprobe.report.drawing",
    "band": "backprobe.workbench.band",
    "bands_line": "backprobe.workbench.band_sheet",
    "banded_pin": "backprobe.workbench.band_sheet",
    "compare_bands": "backprobe.workbench.band_sheet",
    "parse_sweep": "backprobe.workbench.sweep",
    "parse_log": "backprobe.workbench.recording",
    "parse_notes": "backprobe.workbench.recording",
    "study_log": "backprobe.workbench.log",
    "log_suspects": "backprobe.workbench.log_suspects",
    "budget": "backprobe.workbench.budget",
    "sanity": "backprobe.workbench.sanity",
    "copper_ratio": "backprobe.sheet.copper",
    "copper_reading": "backprobe.workbench.temperature",
    "move_window": "backprobe.workbench.temperature",
    "cold_battery": "backprobe.sheet.cold_battery",
    "at_temperature": "backprobe.workbench.temperature",
    "wire_drop": "backprobe.workbench.wire",
    "wire_ohms": "backprobe.workbench.wire",
    "least_size": "backprobe.workbench.wire",
    "joint": "backprobe.workbench.wire",
    "WireSpec": "backprobe.workbench.wire",
    "fuse_time": "backprobe.workbench.fuse_time",
    "load_for_time": "backprobe.workbench.fuse_time",
    "days_to_flat": "backprobe.workbench.drain",
    "drain_of": "backprobe.workbench.drain",
    "stand_in": "backprobe.workbench.standin",
    "stand_in_for": "backprobe.workbench.standin",
    "parse_band": "backprobe.workbench.standin",
    "InputPort": "backprobe.workbench.standin_input",
    "parts_of_series": "backprobe.workbench.standin_parts",
    "parts_of_drawer": "backprobe.workbench.standin_parts",
    "pin_out": "backprobe.workbench.pinout",
    "part_pins": "backprobe.workbench.pinout_part",
    "trial": "backprobe.workbench.trial",
    "Trial": "backprobe.workbench.trial_values",
    "all_joins": "backprobe.workbench.all_joins",
    "hearsay": "backprobe.workbench.hearsay",
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
    "InputPort",
    "Job",
    "JobError",
    "Plan",
    "Reading",
    "ReadingError",
    "Setup",
    "Sheet",
    "SheetError",
    "StoreError",
    "Template",
    "Trial",
    "UnitError",
    "WireSpec",
    "all_joins",
    "at_temperature",
    "band",
    "banded_pin",
    "bands_line",
    "budget",
    "coach",
    "coach_setup",
    "cold_battery",
    "compare_bands",
    "copper_ratio",
    "copper_reading",
    "days_to_flat",
    "doubts",
    "drain_of",
    "draw",
    "expected_codes",
    "fuse_time",
    "hearsay",
    "joint",
    "least_size",
    "live_ohms",
    "load_for_time",
    "load_sheet",
    "log_suspects",
    "make_setup",
    "minimal_diagnoses",
    "move_window",
    "next_checks",
    "parse_accuracy",
    "parse_band",
    "parse_log",
    "parse_notes",
    "parse_reading",
    "parse_readings",
    "parse_sheet",
    "parse_sweep",
    "part_pins",
    "parts_of_drawer",
    "parts_of_series",
    "pin_out",
    "plan",
    "pocket",
    "predict",
    "rank",
    "sanity",
    "sketch",
    "source_from_loads",
    "splitting_check",
    "stand_in",
    "stand_in_for",
    "stop_rule",
    "study_log",
    "supervise",
    "supervising_pairs",
    "template",
    "templates",
    "trial",
    "wire_drop",
    "wire_ohms",
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
    from backprobe.api import plan as plan
    from backprobe.api import predict as predict
    from backprobe.api import rank as rank
    from backprobe.circuit.setup import Setup as Setup
    from backprobe.circuit.setup import make_setup as make_setup
    from backprobe.diagnosis.answer import Answer as Answer
    from backprobe.diagnosis.check import Check as Check
    from backprobe.diagnosis.coach import coach as coach
    from backprobe.diagnosis.coach import coach_setup as coach_setup
    from backprobe.diagnosis.doubts import doubts as doubts
    from backprobe.diagnosis.doubts import live_ohms as live_ohms
    from backprobe.diagnosis.engine import Engine as Engine
    from backprobe.diagnosis.expected_codes import expected_codes as expected_codes
    from backprobe.diagnosis.minimal import minimal_diagnoses as minimal_diagnoses
    from backprobe.diagnosis.plan import Plan as Plan
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
    from backprobe.readings.meter import parse_accuracy as parse_accuracy
    from backprobe.readings.model import Reading as Reading
    from backprobe.report.drawing import draw as draw
    from backprobe.report.pocket.page import pocket as pocket
    from backprobe.sheet.cold_battery import cold_battery as cold_battery
    from backprobe.sheet.copper import copper_ratio as copper_ratio
    from backprobe.sheet.model import Sheet as Sheet
    from backprobe.sheet.reader import load_sheet as load_sheet
    from backprobe.sheet.reader import parse_sheet as parse_sheet
    from backprobe.sheet.sketch import sketch as sketch
    from backprobe.sheet.templates import Template as Template
    from backprobe.sheet.templates import template as template
    from backprobe.sheet.templates import templates as templates
    from backprobe.workbench.all_joins import all_joins as all_joins
    from backprobe.workbench.band import band as band
    from backprobe.workbench.band_sheet import banded_pin as banded_pin
    from backprobe.workbench.band_sheet import bands_line as bands_line
    from backprobe.workbench.band_sheet import compare_bands as compare_bands
    from backprobe.workbench.budget import budget as budget
    from backprobe.workbench.drain import days_to_flat as days_to_flat
    from backprobe.workbench.drain import drain_of as drain_of
    from backprobe.workbench.fuse_time import fuse_time as fuse_time
    from backprobe.workbench.fuse_time import load_for_time as load_for_time
    from backprobe.workbench.hearsay import hearsay as hearsay
    from backprobe.workbench.log import study_log as study_log
    from backprobe.workbench.log_suspects import log_suspects as log_suspects
    from backprobe.workbench.pinout import pin_out as pin_out
    from backprobe.workbench.pinout_part import part_pins as part_pins
    from backprobe.workbench.recording import parse_log as parse_log
    from backprobe.workbench.recording import parse_notes as parse_notes
    from backprobe.workbench.sanity import sanity as sanity
    from backprobe.workbench.standin import parse_band as parse_band
    from backprobe.workbench.standin import stand_in as stand_in
    from backprobe.workbench.standin import stand_in_for as stand_in_for
    from backprobe.workbench.standin_input import InputPort as InputPort
    from backprobe.workbench.standin_parts import parts_of_drawer as parts_of_drawer
    from backprobe.workbench.standin_parts import parts_of_series as parts_of_series
    from backprobe.workbench.supervision import supervise as supervise
    from backprobe.workbench.supervision import supervising_pairs as supervising_pairs
    from backprobe.workbench.sweep import parse_sweep as parse_sweep
    from backprobe.workbench.temperature import at_temperature as at_temperature
    from backprobe.workbench.temperature import copper_reading as copper_reading
    from backprobe.workbench.temperature import move_window as move_window
    from backprobe.workbench.thevenin import source_from_loads as source_from_loads
    from backprobe.workbench.trial import trial as trial
    from backprobe.workbench.trial_values import Trial as Trial
    from backprobe.workbench.wire import WireSpec as WireSpec
    from backprobe.workbench.wire import joint as joint
    from backprobe.workbench.wire import least_size as least_size
    from backprobe.workbench.wire import wire_drop as wire_drop
    from backprobe.workbench.wire import wire_ohms as wire_ohms

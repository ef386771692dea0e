"""Checks as plain text: what to set, where red and black go, and what each outcome would mean."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import isfinite

from backprobe.circuit.setup import Setup
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.cautions import COIL_ENDS
from backprobe.diagnosis.check import Check, Outcome
from backprobe.diagnosis.revived import revived
from backprobe.diagnosis.split import Split
from backprobe.diagnosis.stop import Stop, one_part, stop_rule
from backprobe.report.layout import (
    FIRST,
    OVER_RANGE_OHMS,
    count,
    joined,
    listed,
    minutes,
    percent,
    span,
    wrap,
)
from backprobe.report.setup_words import change_words, setup_words
from backprobe.sheet.model import Sheet

UNITS = {"volts": "V", "ohms": "ohm"}
OUTCOMES = 5
NAMES = 3
RARE = 0.004
LITTLE = 0.02
"""Expected information below which a check is not worth the walk [bit]."""
SURE = 0.9
AFTER_REPAIR = "Then say what was repaired, and try every guard in every operator state."
SOUND = "no fault here"
"""How an outcome says that the circuit would be as built."""
NOTHING_FITS = "Shows it something else, read again; if it stays, the sheet may be wrong."
PART_OFF = "A part that is fitted for a test comes off again."
STEEL_OFF = "What is held for a test comes off again."
ALL_SHOWN = 0.97
"""Chance of one outcome from which saying what it would mean tells nothing [1]."""


def worth_doing(checks: Sequence[Check]) -> list[Check]:
    """Checks that would tell anything much."""
    return [c for c in checks if c.information >= LITTLE or c.proves]


def advice(answer: Answer, checks: Sequence[Check]) -> Stop | None:
    """The stop rule, where the readings explain anything at all."""
    if not answer.readings.all or not answer.groups or revived(answer.readings.all):
        return None
    stop = stop_rule(answer, worth_doing(checks))
    if stop is not None and one_part(answer) is not None:
        # What a further check would tell apart is repaired all the same.
        stop = replace(stop, may=False)
    trusted = answer.none_of_these < answer.groups[0].probability and not answer.drops
    return stop if trusted and stop and isfinite(stop.check_minutes) else None


def repair_advice(answer: Answer, checks: Sequence[Check]) -> Stop | None:
    """The advice to repair, also where no check would tell more and one suspect is as good as sure."""
    found = advice(answer, checks)
    if found is not None or worth_doing(checks) or not answer.groups or not answer.readings.all:
        return found
    sure = answer.groups[0].probability >= SURE and not revived(answer.readings.all)
    modes = answer.engine.catalogue.modes
    blamed = any(modes[m].family == "electronics" for m in answer.groups[0].suspects[0].modes)
    return stop_rule(answer, ()) if sure and not blamed and not answer.reads_as_built else None


def enough_words(answer: Answer) -> str:
    """What to do when no check would tell much more."""
    if not answer.groups or not answer.readings.all:
        return "No check that can be reached and is safe would tell more."
    first = answer.groups[0].suspects[0]
    if answer.groups[0].probability < SURE:
        return "No single check would tell much more: take the readings again, and look at the sheet."
    if any(answer.engine.catalogue.modes[m].family == "electronics" for m in first.modes):
        return f"No further check of this circuit would tell much. {first.name}: {first.repair}."
    return (
        f"No further check would tell much. Repair it ({first.repair}), then take the same readings "
        "again and try every guard in every operator state."
    )


def stop_words(stop: Stop) -> str:
    """The advice to repair now, with what it costs if it is something else."""
    head = "You may repair" if stop.may else "Repair"
    return (
        f"{head}: {listed(stop.parts)}. {stop.suspect.repair[:1].upper()}{stop.suspect.repair[1:]} "
        f"({minutes(stop.suspect.minutes)}). {vain_words(stop)} {AFTER_REPAIR}"
    )


def vain_words(stop: Stop) -> str:
    """What is lost where it is something else."""
    lost, chance = minutes(stop.suspect.minutes), percent(stop.in_vain)
    return f"If it is something else, you lose {lost}; chance {chance}."


def why_words(check: Check) -> str:
    """Why a check is asked for: what its two likeliest outcomes tell apart; empty where it tells little."""
    firsts = [o.means[0] for o in sorted(check.outcomes, key=lambda o: -o.chance) if o.means]
    apart = list(dict.fromkeys(SOUND if name == "as built" else name for name in firsts))[:2]
    if len(apart) < 2:
        return ""
    return f"Tells {apart[0]} from {apart[1]}."


def checks_text(checks: Sequence[Check], answer: Answer) -> str:
    """Numbered checks, best first; what to do instead when none would tell much."""
    stop, checks = advice(answer, checks), worth_doing(checks)
    if not checks:
        return joined(wrap(stop_words(stop) if stop else enough_words(answer)), wrap(FIRST))
    blocks = [wrap(stop_words(stop))] if stop else []
    blocks += [check_lines(check, answer, f"{k}. ") for k, check in enumerate(checks, 1)]
    after = dict.fromkeys(w for check in checks for w in off_again(check))
    return joined(*blocks, wrap(" ".join([NOTHING_FITS, *after, FIRST])))


def off_again(check: Check) -> list[str]:
    """What comes off the machine again after a check; empty after most."""
    held = any(a.kind == "target" for a in check.candidate.setup.attached)
    return [PART_OFF] * (check.candidate.kind == "swapped") + [STEEL_OFF] * held


def telling_outcomes(check: Check) -> bool:
    """Whether its outcomes tell anything: one that is as good as sure does not."""
    return max((o.chance for o in check.outcomes), default=1.0) < ALL_SHOWN


def last_setup(answer: Answer) -> Setup | None:
    """The setup in which the last reading was made."""
    made = [r.setup for r in answer.readings.all if r.kind not in {"swapped", "looked"}]
    return made[-1] if made else None


def check_lines(check: Check, answer: Answer, number: str = "") -> list[str]:
    """One check: what to do, in which setup, with which cautions, and what it may show."""
    sheet, setup = answer.engine.sheet, check.candidate.setup
    pad = "   "
    lines = wrap(do_words(check, sheet), number or pad, pad)
    if check.candidate.red is not None:
        last = last_setup(answer)
        change = change_words(last, setup, sheet) if last else ""
        # The test lamp is what is done, not what it is done with.
        shown = Setup(setup.state, setup.unplugged) if check.candidate.kind == "tester" else setup
        lines += wrap(setup_words(shown, sheet), pad + "with     ")
        lines += wrap(change, pad + "change   ") if change else []
    lines += wrap(check.proves, pad + "proves   ") if check.proves else []
    lines += [line for caution in check.cautions for line in wrap(caution, pad + "CAUTION  ")]
    why = "" if check.proves else why_words(check)
    lines += wrap(why, pad + "why      ") if why else []
    lines += wrap(f"about {minutes(check.minutes)}", pad + "takes    ")
    return lines + (_outcomes(check, pad) if telling_outcomes(check) else [])


def plug_words(name: str, sheet: Sheet) -> str:
    """Whose plug a cavity is of, ``the plug of brake switch``, or which end of a coil a terminal is.

    Empty where nothing is to be said. Old relays carry no numbers, and on many machines 86 is grounded.
    """
    part, _, terminal = name.rpartition(".")
    if part in sheet.parts and sheet.parts[part].kind == "relay" and terminal in COIL_ENDS:
        items = [i for run in sheet.runs.values() for i in run.items if i.role == "part"]
        if any(name == i.enter for i in items):
            return "the supply side of its coil"
        return "the ground side of its coil" if any(name == i.leave for i in items) else ""
    plug = sheet.connectors.get(name) or next(
        (c for c in sheet.connectors.values() if name in c.cavities), None
    )
    return f"the plug of {plug.part}" if plug is not None and plug.part and plug.part not in name else ""


def side_words(name: str, sheet: Sheet) -> str:
    """Which wire a lead reaches at a plug that is on, ``wire towards splice S2``; empty off a cavity.

    Between two parts either could be meant; over a corroded cavity the two sides differ.
    """
    for run in sheet.runs.values():
        for k, item in enumerate(run.items):
            if item.part != name or name not in sheet.parts or sheet.parts[name].kind != "contact":
                continue
            beyond = run.items[k + 1 :] if item.leave.endswith(".wire") else run.items[:k][::-1]
            end = next((i for i in beyond if i.role == "point" or not _is_wire(i.part, sheet)), None)
            return f"wire towards {end.text or end.part}" if end is not None else ""
    return ""


def _is_wire(part: str, sheet: Sheet) -> bool:
    return sheet.parts[part].kind == "wire"


def do_words(check: Check, sheet: Sheet | None = None) -> str:
    """What to do, in one sentence without the setup; with a sheet a plug is named with its part."""
    c = check.candidate
    if c.red is None or c.black is None:
        if c.kind == "looked":
            return f"Look at {c.part}" + (
                f", {plug}" if sheet and (plug := plug_words(c.part, sheet)) else ""
            )
        return f"Fit a known good {c.part}"
    held = [f"Hold {a.what} at the face of {a.red}. " for a in c.setup.attached if a.kind == "target"]
    lead = "".join(held)
    if c.kind == "tester":
        return f"Test lamp from {c.red.name} to {c.black.name}"
    word = {"volts": "Volts", "ohms": "Ohms"}[c.kind]
    return f"{lead}{word}: red {on_words(c.red.name)}, black {on_words(c.black.name)}"


def on_words(point: str) -> str:
    """Where a lead goes: ``on C2-3``, ``after fuse F1``."""
    return point if point.startswith(("before ", "after ")) else f"on {point}"


def shows_words(outcome: Outcome, kind: str) -> str:
    """What the meter or the eye would show."""
    if outcome.shows or not isfinite(outcome.low):
        return outcome.shows
    if kind == "ohms" and outcome.low > OVER_RANGE_OHMS:
        return "OL"
    low = max(outcome.low, 0.0) if kind == "ohms" else outcome.low
    return span(low, outcome.high, UNITS[kind])


def means_words(names: Sequence[str]) -> str:
    """The suspects an outcome points to, the first few by name."""
    if not names:
        return "nothing in particular"
    shown = [SOUND if name == "as built" else name for name in names[:NAMES]]
    more = len(names) - len(shown)
    return ", or ".join(shown) + (f", or {count(more, 'less likely one')}" if more else "")


def split_words(split: Split, sheet: Sheet, *, shown: bool = False) -> list[str]:
    """Which check tells the leading group apart, and what it would say of whom.

    Parameters
    ----------
    shown
        Whether it is the check that is shown in full below.
    """
    firsts = list(dict.fromkeys(group[0] for _, group in split.apart))[:NAMES]
    check = split.check
    apart = f"These readings cannot tell {listed(firsts)} apart"
    if shown:
        return wrap(f"{apart}. The next check can.")
    lines = wrap(f"{apart}; this check can:")
    lines += wrap(f"{do_words(check, sheet)}; {setup_words(check.candidate.setup, sheet)}", "   ")
    for index, group in split.apart:
        seen = shows_words(check.outcomes[index], check.candidate.kind)
        lines += wrap(f"{seen}: {means_words(group)}", "     ", "       ")
    return lines + [line for caution in check.cautions for line in wrap(caution, "   CAUTION  ")]


def _outcomes(check: Check, pad: str) -> list[str]:
    likely = [o for o in check.outcomes if o.chance >= RARE][:OUTCOMES]
    lines: list[str] = []
    for outcome in likely:
        shown = shows_words(outcome, check.candidate.kind)
        head = f"{shown} ({percent(outcome.chance)}): "
        lines += wrap(
            head + means_words(outcome.means), pad + ("shows    " if not lines else " " * 9), pad + " " * 11
        )
    return lines

"""A recording in words: dropouts, changes, notes that fall together, who moved, what explains it."""

from __future__ import annotations

from math import isinf

from backprobe.report.layout import FIRST, count, joined, listed, percent, quantity, wrap
from backprobe.units import figures
from backprobe.workbench.change_points import Change, Changes
from backprobe.workbench.dropouts import Dropouts, NoteHits
from backprobe.workbench.log import Companion, LogStudy
from backprobe.workbench.log_suspects import LogSuspects

SHOWN = 12
"""Dropouts, changes or notes that are listed; the rest is counted."""
CHANCE = 0.05
"""Chance below which notes and dropouts hardly fall together by chance [1]."""


def log_text(study: LogStudy, suspects: LogSuspects | None = None) -> str:
    """The whole study for a terminal of 80 columns."""
    blocks = [wrap(_headline(study))]
    blocks += [_dropouts(d, study) for d in study.dropouts]
    blocks.append(_notes(study))
    blocks += [_changes(c, study) for c in study.changes]
    blocks.append([line for c in study.companions for line in _companion(c)])
    if suspects is not None:
        blocks.append(_suspects(suspects))
        blocks.append(wrap(FIRST))
    return joined(*blocks)


def clock(seconds: float, study: LogStudy) -> str:
    """A time of the recording: ``12.5 s``, or ``14:03:20.5`` where it has times of day."""
    digits = 1 if study.own.spacing >= 0.5 else 2
    if not study.recording.clock:
        return f"{seconds:.{digits}f} s"
    whole = seconds % 86400.0
    return f"{int(whole // 3600):02d}:{int(whole % 3600 // 60):02d}:{whole % 60:0{3 + digits}.{digits}f}"


def duration(seconds: float) -> str:
    """A length of time as one says it."""
    if isinf(seconds):
        return "any time"
    if seconds < 1:
        return f"{seconds * 1000:.0f} ms"
    if seconds < 120:
        return f"{seconds:.1f} s"
    return f"{seconds / 60:.1f} min" if seconds < 7200 else f"{seconds / 3600:.1f} h"


def _headline(study: LogStudy) -> str:
    r = study.recording
    names = listed([c.name for c in r.channels])
    gaps = study.own.gaps
    lost = f"; {count(gaps[0], 'gap')}, {duration(gaps[1])} in all" if gaps[0] else ""
    length = duration(float(r.times[-1] - r.times[0]))
    return f"{length} of {names}, a value every {duration(study.own.spacing)}{lost}."


def _dropouts(d: Dropouts, study: LogStudy) -> list[str]:
    unit = d.unit
    level, noise = quantity(d.steady, unit), quantity(d.noise, unit, 2)
    if not d.spans:
        most = f"fewer than {figures(3600 * d.rate.high)} an hour (97.5 %)"
        words = f"{d.channel}: no dropouts. It stays at {level}, noise {noise}; {most}."
        return wrap(f"{words} Any shorter than {duration(d.spacing)} may be missed.", "", "   ")
    lines = wrap(
        f"{d.channel}: {count(len(d.spans), 'dropout')} from {level} to {quantity(d.away, unit)}", "", "   "
    )
    rate = [3600 * x for x in (d.rate.best, d.rate.low, d.rate.high)]
    lines += wrap(f"{figures(rate[0])} an hour ({figures(rate[1])} to {figures(rate[2])})", "   ")
    if d.mean_length is not None:
        m = d.mean_length
        lines += wrap(
            f"lasting {duration(m.best)} in the mean ({duration(m.low)} to {duration(m.high)}), "
            f"{duration(min(s.length for s in d.spans))} to {duration(max(s.length for s in d.spans))}",
            "   ",
        )
    shown = [
        f"{clock(s.start, study)} for {duration(s.length)}{' (cut)' if s.cut else ''}"
        for s in d.spans[:SHOWN]
    ]
    more = len(d.spans) - SHOWN
    lines += wrap("; ".join(shown) + (f"; and {more} more" if more > 0 else ""), "   ")
    return lines + wrap(f"Dropouts shorter than {duration(d.spacing)} may be missed.", "   ")


def _notes(study: LogStudy) -> list[str]:
    lines: list[str] = []
    if not study.notes:
        return lines
    lines += wrap(f"Notes and the beginnings of dropouts of {study.channel.name}:")
    for hit in study.notes[:SHOWN]:
        lines += wrap(_note(hit, study), "   ", "     ")
    if len(study.notes) > 1:
        lines += wrap(
            f"With {len(study.notes)} wordings looked at, a chance of {percent(CHANCE)} means less.", "   "
        )
    return lines


def _note(hit: NoteHits, study: LogStudy) -> str:
    times = listed([clock(t, study) for t in hit.times[:4]])
    more = f" and {len(hit.times) - 4} more" if len(hit.times) > 4 else ""
    words = f"{hit.text} ({times}{more}): {hit.hits} of {len(hit.times)} within {duration(hit.within)}"
    if not hit.hits:
        return f"{words}."
    verdict = "hardly chance" if hit.chance < CHANCE else "may be chance"
    return f"{words}; by chance {percent(hit.chance)}, so {verdict}."


def _changes(c: Changes, study: LogStudy) -> list[str]:
    d = c.design
    lines = [line for change in c.found[:SHOWN] for line in wrap(_change(change, c, study), "   ", "     ")]
    more = len(c.found) - SHOWN
    lines += wrap(f"and {more} more", "   ") if more > 0 else []
    head = wrap(f"{c.channel}: {count(len(c.found), 'change') if c.found else 'no change'} of its level")
    chart = (
        f"Chart: one false alarm in {duration(d.run_length)} of such noise; a step of "
        f"{quantity(2 * d.noise, c.unit, 2)} is seen after {duration(d.delay)}."
    )
    if not d.white:
        chart += " Its noise is not independent from value to value: expect more false alarms."
    return head + lines + wrap(chart, "   ")


def _change(change: Change, c: Changes, study: LogStudy) -> str:
    best, low, high = (clock(x, study) for x in (change.time.best, change.time.low, change.time.high))
    when = f"{best} ({low} to {high})"
    ends = " to ".join(_signed(x, c.unit) for x in (change.size.low, change.size.high))
    if change.kind == "step":
        return f"{when}: {_signed(change.size.best, c.unit)} ({ends})"
    return (
        f"{when} until {clock(change.until, study)}: drifts by {_signed(change.size.best, c.unit)} "
        f"each second ({ends})"
    )


def _signed(value: float, unit: str) -> str:
    return f"{'+' if value > 0 else ''}{quantity(value, unit) if unit != 'V' else _volts(value)}"


def _volts(value: float) -> str:
    return f"{value:.2f} V" if abs(value) >= 0.1 else f"{1000 * value:.2f} mV"


def _companion(c: Companion) -> list[str]:
    what = {"dropouts": "dropouts", "step": f"step at {c.time:.1f} s", "drift": f"drift from {c.time:.1f} s"}[
        c.what
    ]
    if c.verdict == "together":
        return wrap(f"{c.channel}, {what}: {c.other} moves too: the load, or what feeds both.", "", "   ")
    words = f"{c.channel}, {what}: {c.other} stays: its own meter or leads, or what only {c.channel} passes."
    return wrap(words, "", "   ")


def _suspects(s: LogSuspects) -> list[str]:
    sound = f"{quantity(s.steady.sound, 'V')} +-{quantity(2 * s.steady.spread, 'V', 2)}"
    if s.as_built == "neither":
        lines = wrap(f"Neither level is what a sound circuit shows there ({sound}).")
    else:
        good, bad = (s.steady, s.away) if s.as_built == "steady" else (s.away, s.steady)
        usual = "usual" if s.as_built == "steady" else "other"
        lines = wrap(
            f"The {usual} level, {quantity(good.volts, 'V')}, is that of a sound circuit ({sound}). "
            f"What explains {quantity(bad.volts, 'V')} while it is there:"
        )
    coming = [x for x in s.suspects if not x.lasting]
    for x in coming[:SHOWN]:
        lines += wrap(f"{x.name}, predicts {quantity(x.predicted, 'V')}", f"{percent(x.probability):>9}  ")
    if not coming:
        lines += wrap("No fault of this sheet that can come and go.", "   ")
    stays = [x for x in s.suspects if x.lasting]
    if stays:
        names = listed([x.name for x in stays[:4]])
        lines += wrap(f"Would explain it too, but does not come and go: {names}.", "   ")
    return lines + wrap(f"None of these: {percent(s.none_of_these)}.", "   ")

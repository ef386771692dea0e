"""A recording's study as plain JSON values."""

from __future__ import annotations

from dataclasses import asdict

from backprobe.report.data import Json, Object, number
from backprobe.workbench.change_points import Changes
from backprobe.workbench.dropouts import Dropouts, Interval
from backprobe.workbench.log import LogStudy
from backprobe.workbench.log_suspects import Level, LogSuspects


def log_data(study: LogStudy, suspects: LogSuspects | None = None) -> Object:
    """Dropouts, changes, notes, who moved, and suspects where a sheet was given."""
    r = study.recording
    return {
        "file": r.file,
        "clock": r.clock,
        "start": float(r.times[0]),
        "end": float(r.times[-1]),
        "values": len(r.times),
        "channel": study.channel.name,
        "dropouts": [_dropouts(d) for d in study.dropouts],
        "changes": [_changes(c) for c in study.changes],
        "notes": [{**asdict(n), "times": list(n.times)} for n in study.notes],
        "companions": [asdict(c) for c in study.companions],
        "suspects": None if suspects is None else _suspects(suspects),
    }


def _dropouts(d: Dropouts) -> Json:
    return {
        "channel": d.channel,
        "unit": d.unit,
        "steady": d.steady,
        "away": d.away,
        "noise": d.noise,
        "spacing": d.spacing,
        "watched": d.watched,
        "rate": _interval(d.rate),
        "mean_length": None if d.mean_length is None else _interval(d.mean_length),
        "gaps": {"count": d.gaps[0], "seconds": d.gaps[1]},
        "spans": [{**asdict(s), "length": s.length} for s in d.spans],
    }


def _changes(c: Changes) -> Json:
    return {
        "channel": c.channel,
        "unit": c.unit,
        "design": asdict(c.design),
        "found": [
            {
                "kind": f.kind,
                "time": _interval(f.time),
                "size": _interval(f.size),
                "until": f.until,
                "seen": f.seen,
            }
            for f in c.found
        ],
    }


def _suspects(s: LogSuspects) -> Json:
    return {
        "as_built": s.as_built,
        "steady": _level(s.steady),
        "away": _level(s.away),
        "suspects": [asdict(x) for x in s.suspects],
        "none_of_these": s.none_of_these,
    }


def _level(level: Level) -> Json:
    return {**asdict(level), "fits": level.fits}


def _interval(i: Interval) -> Json:
    return {"low": number(i.low), "best": number(i.best), "high": number(i.high)}

"""Trials and hearsay as plain JSON values."""

from __future__ import annotations

from backprobe.report.data import Json, Object, number, reading_data
from backprobe.workbench.all_joins import AllJoins, Join
from backprobe.workbench.hearsay import Hearsay, Said
from backprobe.workbench.trial_effects import Bearing
from backprobe.workbench.trial_values import AsCheck, Effect, ForBuild, ForSuspect, Meaning, Trial


def trial_data(trial: Trial | None, joins: AllJoins | None = None, check: AsCheck | None = None) -> Object:
    """What the command prints: a trial, or all joins of a plug."""
    whole = trial or joins
    assert whole is not None
    return {
        "sheet": whole.sheet.name,
        "claim": trial.claim if trial else "",
        "verdict": trial.verdict if trial else "",
        "meanings": [_meaning(m) for m in trial.meanings] if trial else [],
        "readings": [reading_data(r) for r in whole.readings],
        "all_joins": _joins(joins) if joins else None,
        "recorded": check_data(check) if check else None,
    }


def check_data(check: AsCheck) -> dict[str, str]:
    """A momentary stand-in for the record of a job."""
    return {
        "claim": check.claim,
        "shown": check.shown,
        "safe_set_up": check.safe_set_up,
        "put_back": check.put_back,
    }


def hearsay_data(found: Hearsay, answer: str) -> Object:
    """The table and the answer."""
    return {
        "sheet": found.sheet.name,
        "said": [_said(s) for s in found.said],
        "readings": [reading_data(r) for r in found.readings],
        "suspects": [{"name": n, "probability": number(p)} for n, p in found.suspects],
        "builds": [{"build": n, "probability": number(p)} for n, p in found.builds],
        "answer": answer,
    }


def _said(said: Said) -> Object:
    return {
        "line": said.line,
        "text": said.text,
        "verdict": said.verdict,
        "cure_chance": number(said.cure_chance),
        "problem": said.problem,
        "meanings": [_meaning(m) for m in said.trial.meanings] if said.trial else [],
    }


def _meaning(meaning: Meaning) -> Object:
    return {
        "words": meaning.cure.words,
        "lasting": meaning.cure.lasting,
        "verdict": meaning.verdict,
        "reasons": list(meaning.reasons),
        "cautions": list(meaning.cautions),
        "instead": meaning.instead,
        "cure_chance": number(meaning.cure_chance),
        "works_chance": None if meaning.refused else _maybe(meaning.works_chance),
        "builds": [_build(b) for b in meaning.builds],
        "refused": meaning.refused,
        "states": [] if meaning.refused else [_effect(e) for e in meaning.effects],
        "suspects": [] if meaning.refused else [_suspect(s) for s in meaning.suspects],
    }


def _maybe(value: float | None) -> float | None:
    return None if value is None else number(value)


def _build(build: ForBuild) -> Object:
    return {
        "build": build.build,
        "probability": number(build.probability),
        "verdict": build.verdict,
        "reasons": list(build.reasons),
        "cure_chance": number(build.cure_chance),
    }


def _effect(effect: Effect) -> Object:
    state: dict[str, Json] = dict(effect.state.state)
    lamps: dict[str, Json] = dict(effect.lamps)
    return {
        "state": state,
        "judged": effect.judged,
        "verdict": effect.verdict,
        "reasons": list(effect.reasons),
        "lamps": lamps,
        "codes": list(effect.codes),
        "released": list(effect.released),
        "held": list(effect.held),
        "limiting": list(effect.limiting),
        "damaged": list(effect.damaged),
        "fuses": list(effect.fuses),
        "carried": [_bearing(b) for b in effect.bearings],
    }


def _bearing(b: Bearing) -> Object:
    return {
        "name": b.name,
        "what": b.what,
        "value": number(b.value),
        "limit": number(b.limit),
        "unit": b.unit,
        "share": number(b.share),
        "amps": None if b.amps is None else number(b.amps),
        "watts": None if b.watts is None else number(b.watts),
    }


def _suspect(s: ForSuspect) -> Object:
    return {
        "name": s.name,
        "probability": number(s.probability),
        "verdict": s.verdict,
        "cures": s.cures,
        "reasons": list(s.reasons),
    }


def _joins(found: AllJoins) -> Object:
    return {
        "plug": found.plug,
        "unplugged": found.unplugged,
        "faults": found.faults,
        "states": found.states,
        "circuits": found.trials,
        "joins": [_join(j) for j in found.joins],
    }


def _join(join: Join) -> Object:
    faults: dict[str, Json] = dict(join.faults)
    return {
        "cavities": [list(b) for b in join.blocks],
        "verdict": join.sound,
        "reasons": list(join.meaning.reasons),
        "by_fault": faults,
        "defeats_with": list(join.defeats_with),
        "suspects": [_suspect(s) for s in join.meaning.suspects],
    }

"""A proposed cure acted out in every operator state before anyone touches the machine."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.errors import BackprobeError
from backprobe.jobs.standing import ranked_readings
from backprobe.readings.points import reachable_points
from backprobe.report.trial_data import check_data
from backprobe.report.trial_words import (
    ALLOWED,
    SHOWN,
    WORTH,
    alike,
    grouped,
    lost_words,
    merged_states,
    unchanged,
)
from backprobe.sheet.model import Sheet
from backprobe.web.asking import ask, asked_of, circuit_of, place_of, tool_page
from backprobe.web.frame import MenuItem, back_with, done, form_of, missing, work_of
from backprobe.web.past_view import past_here
from backprobe.web.texts import N_, Texts
from backprobe.workbench.all_joins import AllJoins, all_joins
from backprobe.workbench.trial import as_check, trial
from backprobe.workbench.trial_effects import Bearing
from backprobe.workbench.trial_values import Effect, Meaning, Trial
from backprobe.workbench.verdict import CODE, DAMAGES, DEFEATS, NO_EFFECT, RANK, SOUND_TEST, VERDICTS

MENU = [
    MenuItem("tools", N_("Hearsay"), "/trial", 2),
    MenuItem("job", N_("Hearsay"), "/job/{name}/trial", 50),
]
MOST_WHOLE = 12
"""Meanings that are shown state by state, those that come to the same as one."""
FOR = {"": None, "moment": False, "good": True}
LASTS = {"": "", "moment": " for a moment", "good": " for good"}
"""How a line says for how long, where several are judged at once."""


@dataclass(frozen=True, slots=True)
class State:
    """Operator states in which a cure does the same."""

    where: str
    effect: Effect
    bearings: tuple[Bearing, ...]


@dataclass(frozen=True, slots=True)
class Judged:
    """One meaning of a claim as the page shows it.

    Parameters
    ----------
    words
        What would be done; several that come to the same are told together.
    states
        Where something happens that did not before, what decides first.
    lost
        All that is told of what a refused cure does: where it takes the guard away.
    still
        Whether there are states in which nothing changes.
    cures
        Suspects that it cures with their probabilities; empty where it makes up a guard's signal.
    """

    meaning: Meaning
    words: tuple[str, ...]
    states: tuple[State, ...]
    lost: str
    still: bool
    cures: tuple[tuple[str, float], ...]
    suspects: tuple[tuple[str, float, str, tuple[str, ...]], ...]


def show(request: Request) -> Response:
    """The form, and the verdict on what was proposed."""
    place, asked = place_of(request, "trial"), asked_of(request)
    circuit = circuit_of(request, place, asked) if asked.given or place.work else None
    plug = asked.text("plug")
    found: Trial | None = None
    joins: AllJoins | None = None
    # What is missing for the record is said beside the trial, which stands.
    saw = asked.errors.pop("saw", "")
    if circuit is not None and asked.given:
        with circuit.lock:
            if plug:
                unplugged = not asked.text("plugged")
                joins = asked.answer(
                    lambda: all_joins(circuit.engine, plug, circuit.readings, unplugged=unplugged), "plug"
                )
            else:
                asked.needs("claim", asked.text("claim") or None)
                lasting = FOR.get(asked.text("time"))
                found = asked.answer(
                    lambda: trial(circuit.engine, asked.text("claim"), circuit.readings, lasting=lasting),
                    "claim",
                )
    if saw:
        asked.errors["saw"] = saw
    shown = grouped(found.meanings)[:MOST_WHOLE] if found else []
    return tool_page(
        request,
        "trial.html",
        place,
        asked,
        {
            "trial": found,
            "judged": [_judged(g, asked.spoken, found.sheet) for g in shown] if found else [],
            "further": len(found.meanings) - sum(map(len, shown)) if found else 0,
            "joins": joins,
            "ranks": RANK[::-1],
            "defeats": DEFEATS,
            "damages": DAMAGES,
            "harmful": RANK[2:],
            "may_record": bool(place.work and found and _recordable(found)),
            "past": past_here(circuit.work if circuit else None, asked.spoken),
            "claim": asked.text("claim"),
            "time": asked.text("time"),
            "examples": _examples(circuit.sheet) if circuit else [],
            "plugs": list(circuit.sheet.connectors) if circuit else [],
        },
    )


def _recordable(found: Trial) -> bool:
    """Whether it may go on the record as a check: one meaning, for a moment, without harm."""
    first = found.meanings[0]
    mild = first.verdict in {SOUND_TEST, NO_EFFECT, CODE} and not first.cure.lasting and bool(first.cautions)
    return len(found.meanings) == 1 and mild


def _judged(alike_ones: list[Meaning], spoken: Texts, sheet: Sheet) -> Judged:
    """Meanings that come to the same, the first of them state by state."""
    meaning = alike_ones[0]
    changed = [e for e in meaning.effects if not unchanged(e)]
    groups = sorted(alike(changed), key=lambda g: (not g[0].judged, VERDICTS.index(g[0].verdict)))
    states = tuple(
        State(
            "; ".join(spoken.listed(s) for s in merged_states([e.state for e in group], sheet)),
            group[0],
            tuple(b for b in group[0].bearings if b.share >= WORTH)[:SHOWN],
        )
        for group in groups
    )
    told = tuple(
        (s.name, s.probability, ALLOWED.get(s.verdict, s.verdict).lower(), s.reasons)
        for s in meaning.suspects
        if s.verdict in RANK[1:] or s in meaning.cures
    )
    still = len(changed) < len(meaning.effects)
    return Judged(
        meaning,
        tuple(m.cure.words for m in alike_ones),
        states,
        spoken.said(lost_words(meaning, sheet)) if meaning.refused else "",
        still,
        tuple((s.name, s.probability) for s in meaning.cures),
        told,
    )


def _examples(sheet: Sheet) -> list[str]:
    """Claims in the words of the sheet, to tap."""
    found = []
    for name in sheet.connectors:
        points = [p.name for p in reachable_points(sheet) if p.name.startswith(f"{name}-")]
        found.append(f"unplug {name}")
        if len(points) > 1:
            found += [f"join {points[0]} {points[1]}", f"put 220 ohm between {points[0]} and {points[1]}"]
        break
    return [*found, "bigger fuse", "clean and realign the target"][:5]


def take(request: Request) -> Response:
    """Keep what was proposed and show the verdict; several cures, one a line, are judged at once."""
    form = form_of(request)
    claim = form.text("example") or form.text("claim")
    lines = [line.strip() for line in claim.splitlines() if line.strip()]
    if len(lines) > 1:
        lasts = LASTS.get(form.text("time"), "")
        more = {"lines": "\n".join(line + lasts for line in lines)}
        return ask(request, place_of(request, "hearsay").address, more=more)
    return ask(request, place_of(request, "trial").address, more={"claim": claim})


def record(request: Request) -> Response:
    """Put a momentary trial on the record of a job as a check, with its safe set-up and its put-back step."""
    work, form = work_of(request), form_of(request)
    address = f"/job/{work.name}/trial"
    saw = form.text("saw")
    try:
        if not saw:
            raise missing("saw", "What was seen is missing", "Say what the lamp and the function did.")
        with work.lock:
            lasting = FOR.get(form.text("time"))
            found = trial(work.engine, form.text("claim"), ranked_readings(work.job), lasting=lasting)
            if len(found.meanings) != 1:
                raise missing("saw", "This may mean several things", "Say first which of them was done.")
            check = as_check(found.meanings[0], saw)
            work.job.store.append(work.name, "trial", dict(check_data(check)))
            work.refresh()
    except BackprobeError as error:
        return back_with(request, f"{address}#answer", {"saw": error})
    return done(f"/job/{work.name}#log")


ROUTES = [
    Route("/trial", show),
    Route("/trial", take, methods=["POST"]),
    Route("/job/{name}/trial", show),
    Route("/job/{name}/trial", take, methods=["POST"]),
    Route("/job/{name}/trial/record", record, methods=["POST"]),
]

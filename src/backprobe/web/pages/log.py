"""Dropouts and changes in a recording of volts over time, and what explains both levels."""

from __future__ import annotations

from functools import partial

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.report.log_words import CHANCE, SHOWN, clock, duration
from backprobe.units import figures
from backprobe.web.asking import Asked, Circuit, ask, asked_of, circuit_of, place_of, tool_page
from backprobe.web.complaint import hand_controls, offer_of
from backprobe.web.frame import AGAIN, MenuItem, form_of, localised
from backprobe.web.kept import Kept
from backprobe.web.log_picture import draw_log
from backprobe.web.texts import N_
from backprobe.workbench.log import LogStudy, study_log
from backprobe.workbench.log_suspects import LogSuspects, log_suspects
from backprobe.workbench.recording import parse_log, parse_notes

MENU = [MenuItem("tools", N_("Recording: dropouts and changes"), "/log", 70)]
LONGEST_SHOWN = 20_000
"""Longest recording that is put back into its field [character]."""


def show(request: Request) -> Response:
    """The form, and what a recording says."""
    place, asked = place_of(request, "log"), asked_of(request)
    wanted = place.work is not None or asked.text("circuit") or asked.text("sheet")
    circuit = circuit_of(request, place, asked) if wanted else None
    asked.needs("recording", asked.text("recording") or None)
    within = asked.number("within", "s")
    study = asked.answer(lambda: _study(asked, within), "recording")
    suspects = None
    if study is not None and circuit is not None and asked.text("red") and study.own.spans:
        with circuit.lock:
            suspects = asked.answer(lambda: _suspects(asked, circuit, study), "red")
    local = partial(localised, asked.spoken)
    picture = ""
    if study is not None:
        label = asked.spoken.gettext(
            "The recording over time; dropouts shaded, changes dashed, notes triangles"
        )
        picture = draw_log(study, label=label, local=local)
    return tool_page(
        request,
        "log.html",
        place,
        asked,
        {
            "study": study,
            "suspects": suspects,
            "picture": picture,
            "clock": lambda seconds: local(clock(seconds, study)) if study else "",
            "hourly": lambda rate: local(figures(3600 * rate)),
            "duration": lambda seconds: local(duration(seconds)),
            "most": SHOWN,
            "chance": CHANCE,
            "blank": Kept({}, asked.errors),
            "before": request.query_params.get(AGAIN, ""),
            "long": len(asked.text("recording")) > LONGEST_SHOWN,
            "points": offer_of(circuit.sheet).points if circuit else (),
            "controls": hand_controls(circuit.sheet) if circuit else (),
        },
    )


def _study(asked: Asked, within: float | None) -> LogStudy:
    recording = parse_log(asked.text("recording"))
    notes = parse_notes(asked.text("notes"), recording) if asked.text("notes") else ()
    return study_log(recording, asked.text("channel"), notes=notes, within=within)


def _suspects(asked: Asked, circuit: Circuit, study: LogStudy) -> LogSuspects:
    state = [
        f"{c.name} {asked.text(f'state:{c.name}')}"
        for c in circuit.sheet.controls.values()
        if asked.text(f"state:{c.name}")
    ]
    return log_suspects(
        circuit.sheet,
        study.own,
        asked.text("red"),
        asked.text("black", "battery-"),
        state=", ".join([*state, "all plugged"]) if state else "",
    )


def take(request: Request) -> Response:
    """Keep what was asked and show its answer; a long recording that was sent before is not sent again."""
    form, keeper = form_of(request), request.app.state.keeper
    before = "" if form.upload("recording_file") else keeper.take(form.text("before")).value("recording")
    more = {"recording": before} if before and not form.text("recording") else {}
    return ask(request, place_of(request, "log").address, ("recording",), more)


ROUTES = [
    Route("/log", show),
    Route("/log", take, methods=["POST"]),
    Route("/job/{name}/log", show),
    Route("/job/{name}/log", take, methods=["POST"]),
]

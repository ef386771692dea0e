"""Resistors that stand in for a sensor, for testing only: in their band, with the steps and the removal."""

from __future__ import annotations

from functools import partial
from math import inf, isfinite

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.errors import BackprobeError, Problem
from backprobe.report.setup_words import setup_words
from backprobe.report.standin_words import REMOVAL, STEPS, TESTING, band_words, build_words
from backprobe.sheet.anatomy import Origin, Value
from backprobe.sheet.model import Sheet
from backprobe.sheet.values import DEFAULT_TOLERANCE
from backprobe.units import parse_range, parse_toleranced
from backprobe.web.asking import Asked, Circuit, ask, asked_of, circuit_of, place_of, tool_page
from backprobe.web.frame import MenuItem, localised, sentence
from backprobe.web.standin_picture import draw_stand_ins
from backprobe.web.texts import N_
from backprobe.workbench.standin import Bench, parse_band, stand_in, stand_in_for, temperatures_of
from backprobe.workbench.standin_input import InputPort
from backprobe.workbench.standin_parts import Parts, parts_of_drawer, parts_of_series

MENU = [MenuItem("tools", N_("Stand-in for a sensor, for testing only"), "/stand-in", 60)]
SERIES = ("E24", "E12", "E48", "E96")


def show(request: Request) -> Response:
    """The form, and stand-ins in their band."""
    place, asked = place_of(request, "stand-in"), asked_of(request)
    chosen = place.work is not None or asked.text("circuit") or asked.text("sheet")
    circuit = circuit_of(request, place, asked) if chosen else None
    bench = _bench(asked, circuit)
    local = partial(localised, asked.spoken)
    values: dict[str, object] = {
        "bench": bench,
        "series": SERIES,
        "wanted": inputs_of(circuit.sheet) if circuit else [],
        "testing": TESTING,
        "steps": STEPS,
        "removal": REMOVAL,
        "isfinite": isfinite,
        "rule": asked.spoken.rule,
    }
    if bench is not None:
        values |= {
            "band": sentence(asked.spoken, band_words(bench.port).replace(" to ", " \u2013 ")),
            "builds": [sentence(asked.spoken, build_words(s, bench)) for s in bench.stand_ins],
            "cautions": circuit.sheet.cautions if circuit else (),
            "opened": [
                (r.function, asked.spoken.listed(setup_words(r.open, circuit.sheet)))
                for r in bench.released
                if r.open is not None and circuit is not None
            ],
            "picture": draw_stand_ins(
                bench,
                bench.stand_ins,
                label=asked.spoken.gettext(
                    "Stand-ins in their band, in volts, with what their tolerances reach; numbered as below"
                ),
                code=asked.spoken.gettext("code"),
                local=local,
            ),
        }
    return tool_page(request, "stand_in.html", place, asked, values)


def inputs_of(sheet: Sheet) -> list[tuple[str, str]]:
    """Every input with each thing that it may be taken for; what raises a code is left out."""
    return [
        (f"{pin.name}|{band.meaning}", f"{pin.name}: {band.meaning}")
        for part in sheet.parts.values()
        for pin in part.pins.values()
        if pin.role == "input"
        for band in pin.bands
        if "code" not in band.meaning.lower()
    ]


def _bench(asked: Asked, circuit: Circuit | None) -> Bench | None:
    parts = _parts(asked, circuit)
    if circuit is not None:
        name, _, meaning = asked.text("wanted").partition("|")
        if asked.given and not meaning:
            asked.errors["wanted"] = asked.spoken.gettext("Pick the input and what it should be taken for.")
        with circuit.lock:
            return asked.answer(lambda: stand_in_for(circuit.sheet, name, meaning, parts), "wanted")
    port = _port(asked)
    return asked.answer(lambda: stand_in(port, parts), "band") if port is not None else None


def _parts(asked: Asked, circuit: Circuit | None) -> Parts | None:
    share = asked.number("tolerance", "%") if asked.text("tolerance") else None
    own = None if share is None else share / 100
    warmth = temperatures_of(circuit.sheet if circuit else None)
    if asked.text("drawer"):
        return asked.read("drawer", lambda t: parts_of_drawer(t, own, warmth))
    number = int((asked.text("series", SERIES[0]) if asked.text("series") in SERIES else SERIES[0])[1:])
    try:
        return parts_of_series(number, own, warmth)
    except BackprobeError as error:
        asked.wrong("tolerance", error)
        return None


def _port(asked: Asked) -> InputPort | None:
    """The input as the numbers say, without a sheet."""
    feed = asked.needs("feed", _value(asked, "feed", "V"))
    band = asked.needs("band", asked.read("band", lambda _: parse_band(asked.pointed("band"))))
    down, up, top = (
        _value(asked, n, u) for n, u in (("pull_down", "ohm"), ("pull_up", "ohm"), ("pull_up_volts", "V"))
    )
    codes = asked.read("codes", lambda _: parse_range(asked.pointed("codes"), unit="V"))
    if top is not None and up is None:
        asked.needs("pull_up", None)
    if feed is None or band is None or asked.errors:
        return None
    return asked.answer(lambda: InputPort(feed, band, down, up, top, codes or (-inf, inf)), "band")


def _value(asked: Asked, name: str, unit: str) -> Value | None:
    """A value as typed, with the tolerance that a sheet would give it."""
    got = asked.read(name, lambda _: parse_toleranced(asked.pointed(name), unit=unit))
    if got is None:
        return None
    if got.low <= 0:
        asked.wrong(
            name,
            BackprobeError(Problem(name, asked.text(name), "is not above zero", "Give what was measured.")),
        )
        return None
    share = 0.0 if got.given else DEFAULT_TOLERANCE[unit]
    return Value(
        got.value, got.low * (1 - share), got.high * (1 + share), unit, Origin("assumed", "as typed")
    )


def take(request: Request) -> Response:
    """Keep what was asked and show its answer."""
    return ask(request, place_of(request, "stand-in").address)


ROUTES = [
    Route("/stand-in", show),
    Route("/stand-in", take, methods=["POST"]),
    Route("/job/{name}/stand-in", show),
    Route("/job/{name}/stand-in", take, methods=["POST"]),
]

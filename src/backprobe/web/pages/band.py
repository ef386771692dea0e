"""The bands of a controller input from a sweep: edges with intervals, and the volts to try next."""

from __future__ import annotations

from functools import partial

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.readings.meter import parse_accuracy
from backprobe.report.band_words import MIND
from backprobe.sheet.model import Pin, Sheet
from backprobe.web.asking import Circuit, ask, asked_of, circuit_of, place_of, tool_page
from backprobe.web.band_picture import draw_band
from backprobe.web.frame import MenuItem, localised
from backprobe.web.numbers import pointed
from backprobe.web.texts import N_
from backprobe.workbench.band import BandAnswer, band
from backprobe.workbench.band_sheet import StatedEdge, banded_pin, bands_line, compare_bands
from backprobe.workbench.sweep import parse_sweep

MENU = [MenuItem("tools", N_("Bands of an input from a sweep"), "/band", 50)]
SAYS = {
    "holds": N_("holds"),
    "open": N_("cannot be told yet"),
    "disagrees": N_("DISAGREES"),
    "not tried": N_("not tried"),
}
ENDS = {"from": N_("from"), "up to": N_("up to"), "left below": N_("left below")}


def show(request: Request) -> Response:
    """The form, and the bands of a sweep."""
    place, asked = place_of(request, "band"), asked_of(request)
    wanted = place.work is not None or asked.text("circuit") or asked.text("sheet")
    circuit: Circuit | None = circuit_of(request, place, asked) if wanted else None
    accuracy = asked.read("meter", lambda _: parse_accuracy(asked.pointed("meter")))
    asked.needs("sweep", asked.text("sweep") or None)
    pin: Pin | None = None
    if circuit is not None and asked.text("input"):
        sheet = circuit.sheet
        pin = asked.read("input", lambda t: banded_pin(sheet, t))

    def work() -> tuple[BandAnswer, tuple[StatedEdge, ...]]:
        found = band(
            parse_sweep(_pointed(asked.text("sweep"), asked.spoken.decimal_comma)), accuracy=accuracy
        )
        return found, compare_bands(found, pin) if pin else ()

    done = asked.answer(work, "sweep")
    answer, stated = done or (None, ())
    local = partial(localised, asked.spoken)
    picture = ""
    if answer is not None:
        label = asked.spoken.gettext("Bands over the sweep, in volts; the list below has the numbers")
        picture = draw_band(answer, label=label, local=local)
    return tool_page(
        request,
        "band.html",
        place,
        asked,
        {
            "answer": answer,
            "stated": stated,
            "between": asked.spoken.listed(answer.next.why) if answer and answer.next else "",
            "pin": pin,
            "picture": picture,
            "line": bands_line(answer, on=asked.text("on")) if answer and answer.crossings else "",
            "inputs": inputs_with_bands(circuit.sheet) if circuit else [],
            "mind": MIND.removeprefix("CAUTION  "),
            "says": SAYS,
            "ends": ENDS,
        },
    )


def inputs_with_bands(sheet: Sheet) -> list[str]:
    """Inputs of a sheet that have bands."""
    return [pin.name for part in sheet.parts.values() for pin in part.pins.values() if pin.bands]


def _pointed(text: str, comma: bool) -> str:
    """Typed lines with decimal points; a table with columns reads its own commas."""
    lines = text.split("\n")
    if ":" not in lines[0]:
        return text
    return "\n".join(
        f"{pointed(before, comma=comma)}{colon}{after}"
        for before, colon, after in (s.partition(":") for s in lines)
    )


def take(request: Request) -> Response:
    """Keep what was asked and show its answer."""
    return ask(request, place_of(request, "band").address, ("sweep",))


ROUTES = [
    Route("/band", show),
    Route("/band", take, methods=["POST"]),
    Route("/job/{name}/band", show),
    Route("/job/{name}/band", take, methods=["POST"]),
]

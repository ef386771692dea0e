"""Ohms of copper brought from one temperature to another, and a battery in the cold."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.sheet.cold_battery import FLAT_FREEZES, cold_battery
from backprobe.units import parse_range
from backprobe.web.asking import Asked, ask, asked_of, place_of, tool_page
from backprobe.web.frame import MenuItem
from backprobe.web.texts import N_
from backprobe.workbench.temperature import CopperReading, copper_reading, move_window

MENU = [MenuItem("tools", N_("Warm and cold: coils, battery"), "/temperature", 30)]
CONVENTIONS = ("alpha", "table", "textbook")
NAMED = (
    ("alpha", N_("usual: 0.393 % for each °C")),
    ("table", N_("wire tables")),
    ("textbook", N_("textbooks: 0.4 % for each °C")),
)
MILD = 20.0
"""Temperature that ohms are brought to where none is said [degC]."""


def show(request: Request) -> Response:
    """The form, and ohms at another temperature."""
    place, asked = place_of(request, "temperature"), asked_of(request)
    celsius = asked.needs("celsius", asked.number("celsius", "degC"))
    reference = asked.number("reference", "degC")
    window = asked.read("window", lambda _: parse_range(asked.pointed("window"), unit="ohm"))
    there = MILD if reference is None else reference
    reading = _reading(asked, celsius, there, window)
    convention = asked.text("convention", CONVENTIONS[0])
    moved = battery = None
    if celsius is not None and reading is None:
        if window is not None and not asked.text("ohms"):
            low, high = window
            moved = asked.answer(lambda: move_window(low, high, there, celsius, convention), "window")
        elif not asked.text("ohms"):
            battery = asked.answer(lambda: cold_battery(celsius), "celsius")
    return tool_page(
        request,
        "temperature.html",
        place,
        asked,
        {
            "reading": reading,
            "moved": moved,
            "window": window,
            "battery": battery,
            "celsius": celsius,
            "reference": there,
            "freezes": FLAT_FREEZES,
            "conventions": [(c, asked.spoken.gettext(t)) for c, t in NAMED],
        },
    )


def _reading(
    asked: Asked, celsius: float | None, reference: float, window: tuple[float, float] | None
) -> CopperReading | None:
    ohms, leads = asked.number("ohms", "ohm"), asked.number("leads", "ohm")
    if ohms is None or celsius is None:
        return None
    convention = asked.text("convention", CONVENTIONS[0])
    return asked.answer(
        lambda: copper_reading(
            ohms, celsius, reference, leads=leads or 0.0, window=window, convention=convention
        ),
        "ohms",
    )


def take(request: Request) -> Response:
    """Keep what was asked and show its answer."""
    return ask(request, "/temperature")


ROUTES = [Route("/temperature", show), Route("/temperature", take, methods=["POST"])]

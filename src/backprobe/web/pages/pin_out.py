"""Which of three unlabelled pins is feed, ground and signal: of a plug, or of a sensor on the bench."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.report.layout import quantity
from backprobe.report.pinout_words import ALIKE, LEAST, MACHINE_CARE, PART_CARE, SHOWN, source_words
from backprobe.web.asking import Asked, ask, asked_of, place_of, tool_page
from backprobe.web.frame import MenuItem, localised, sentence
from backprobe.web.numbers import pointed
from backprobe.web.texts import N_
from backprobe.workbench.pinout import PinOut, pin_out
from backprobe.workbench.pinout_families import ROLES
from backprobe.workbench.pinout_part import BENCH_VOLTS, TERMINALS, PartPins, part_pins
from backprobe.workbench.pinout_sheet import sheet_text

MENU = [MenuItem("tools", N_("Three unlabelled pins"), "/pin-out", 80)]
SYSTEM = 12.0


@dataclass(frozen=True, slots=True)
class Order:
    """One way in which the pins may stand, with its probability [1]."""

    probability: float
    roles: tuple[tuple[str, str], ...]


def show(request: Request) -> Response:
    """The form, and what the pins are."""
    place, asked = place_of(request, "pin-out"), asked_of(request)
    is_part = asked.text("side") == "part"
    system, bench, limit = (
        asked.number("system", "V"),
        asked.number("bench", "V"),
        asked.number("limit", "ohm"),
    )
    names = [p for p in asked.text("pins").replace(",", " ").split() if p]
    text = _lines(asked)
    machine = part = None
    if is_part:
        volts = BENCH_VOLTS if bench is None else bench
        part = asked.answer(lambda: part_pins(text, volts=volts, ohms=limit, pins=names), "readings")
    else:
        volts = SYSTEM if system is None else system
        machine = asked.answer(lambda: pin_out(text, system_volts=volts, pins=names), "readings")
    local = partial(localised, asked.spoken)
    return tool_page(
        request,
        "pin_out.html",
        place,
        asked,
        {
            "machine": machine,
            "part": part,
            "orders": _orders(machine or part),
            "wanted": _wanted(machine or part),
            "sources": [(s, sentence(asked.spoken, source_words(s))) for s in machine.sources]
            if machine
            else [],
            "roles": ROLES,
            "least": LEAST,
            "alike": ALIKE,
            "sheet": sheet_text(machine) if machine and machine.found else "",
            "care": MACHINE_CARE,
            "steps": [s.format(amps=local(quantity(part.amps, "A"))) for s in PART_CARE] if part else [],
        },
    )


def _orders(found: PinOut | PartPins | None) -> list[Order]:
    if found is None or not found.readings:
        return []
    names = TERMINALS if isinstance(found, PartPins) else ROLES
    return [
        Order(share, tuple(zip(pins, names, strict=True)))
        for pins, share in found.assignments[:SHOWN]
        if share > LEAST
    ]


def _wanted(found: PinOut | PartPins | None) -> list[tuple[str, float, str]]:
    """Readings that are missing, with what each would tell [bit] and what to mind."""
    if isinstance(found, PinOut):
        return [(m.words, m.bits, m.caution) for m in found.missing]
    return [(text, bits, "") for text, bits in found.missing] if found else []


def _lines(asked: Asked) -> str:
    """The readings with decimal points."""
    return pointed(asked.kept.value("readings"), comma=asked.spoken.decimal_comma)


def take(request: Request) -> Response:
    """Keep what was asked and show its answer."""
    return ask(request, "/pin-out")


ROUTES = [Route("/pin-out", show), Route("/pin-out", take, methods=["POST"])]

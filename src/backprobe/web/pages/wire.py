"""What a wire loses, the size that would do, and what a joint burns."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.report.wire_words import BURNS
from backprobe.units import parse_quantity
from backprobe.web.asking import Asked, ask, asked_of, place_of, tool_page
from backprobe.web.frame import MenuItem
from backprobe.web.texts import N_
from backprobe.workbench.wire import (
    CRITICAL,
    FAULT,
    LIMITS,
    ORDINARY,
    Joint,
    WireDrop,
    WireSpec,
    joint,
    least_size,
    wire_drop,
)
from backprobe.workbench.wire_tables import gauge_area

MENU = [MenuItem("tools", N_("Wires and joints"), "/wire", 20)]
TABLES = ("class 5", "class 5 tinned", "class 2", "vehicle", "solid")
CONVENTIONS = ("alpha", "table", "textbook")
NAMED = (
    ("alpha", N_("usual: 0.393 % for each °C")),
    ("table", N_("wire tables")),
    ("textbook", N_("textbooks: 0.4 % for each °C")),
)


@dataclass(frozen=True, slots=True)
class Answered:
    """What was asked of a wire; what was not is None.

    Parameters
    ----------
    sizes
        Least sizes for what must work and for the rest [mm2]; None above the largest.
    """

    amps: float
    drop: WireDrop | None = None
    joint: Joint | None = None
    sizes: tuple[float | None, float | None] | None = None

    @property
    def over(self) -> list[tuple[str, float]]:
        """Limits of the trade that are passed, with their volts [V]."""
        lost = self.drop.drop if self.drop else self.joint.volts if self.joint else 0.0
        return [(name, limit) for name, limit in LIMITS if lost > limit]


def show(request: Request) -> Response:
    """The form, and what was asked of a wire."""
    place, asked = place_of(request, "wire"), asked_of(request)
    answer = _answered(asked)
    return tool_page(
        request,
        "wire.html",
        place,
        asked,
        {
            "answer": answer,
            "tables": TABLES,
            "conventions": [(c, asked.spoken.gettext(t)) for c, t in NAMED],
            "critical": CRITICAL,
            "ordinary": ORDINARY,
            "fault": FAULT,
            "burns": BURNS,
        },
    )


def _answered(asked: Asked) -> Answered | None:
    amps = asked.needs("amps", asked.number("amps", "A"))
    length, lost = asked.number("length", "m"), asked.number("lost", "V")
    system, celsius = asked.number("system", "V"), asked.number("celsius", "degC")
    size = _size(asked)
    if asked.given and not asked.errors and (length is None) == (lost is None):
        asked.errors["length"] = asked.spoken.gettext("Give either the length, or the volts that are lost.")
    spec = WireSpec(
        asked.text("table", TABLES[0]),
        20.0 if celsius is None else celsius,
        asked.text("convention", CONVENTIONS[0]),
        bool(asked.text("both_ways")),
    )
    volts = 12.0 if system is None else system

    def work() -> Answered:
        flowing = amps or 0.0
        if lost is not None:
            return Answered(flowing, joint=joint(lost, flowing))
        metres = length or 0.0
        if size is not None:
            drop = wire_drop(metres, size, flowing, system=volts, spec=spec)
            return Answered(flowing, drop=drop, sizes=(drop.least_critical, drop.least_ordinary))
        one, other = (least_size(metres, flowing, share * volts, spec) for share in (CRITICAL, ORDINARY))
        return Answered(flowing, sizes=(one, other))

    return asked.answer(work, "amps")


def _size(asked: Asked) -> float | None:
    """The cross-section, given in mm2 or as a gauge [mm2]."""
    if asked.text("size_unit") == "AWG":
        gauge = asked.read("size", lambda t: parse_quantity(t.upper().removeprefix("AWG")).value)
        return None if gauge is None else asked.read("size", lambda _: gauge_area(gauge))
    return asked.number("size", "mm2")


def take(request: Request) -> Response:
    """Keep what was asked and show its answer."""
    return ask(request, "/wire")


ROUTES = [Route("/wire", show), Route("/wire", take, methods=["POST"])]

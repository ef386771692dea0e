"""Amperes of every load against fuse, driver, feed and wire, in one operator state."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from backprobe.circuit.setup import Setup, make_setup
from backprobe.report.setup_words import setup_words
from backprobe.sheet.model import Sheet
from backprobe.units import figures
from backprobe.web.asking import Asked, Circuit, ask, asked_of, circuit_of, place_of, tool_page
from backprobe.web.complaint import hand_controls
from backprobe.web.frame import MenuItem, localised
from backprobe.web.texts import N_
from backprobe.workbench.budget import CAPACITY, Budget, budget
from backprobe.workbench.budget_lines import FuseLoad
from backprobe.workbench.drain import USUAL_DRAIN
from backprobe.workbench.fuse_time import SOURCE
from backprobe.workbench.said import opens_in

MENU = [MenuItem("tools", N_("Amperes: fuses, drivers, feeds"), "/budget", 10)]
LEAST_CAPACITY, MOST_CAPACITY = 0.1, 2000.0
"""Of a battery [Ah]."""
FROM_SHARE = 0.5
"""Share of its rating from which the time of a fuse is told [1]."""
COLD = 1.5
"""Times the running current from which the first moment is told [1]."""


@dataclass(frozen=True, slots=True)
class Shown:
    """A budget as the page shows it."""

    budget: Budget
    state: str
    parked_days: str
    above_usual: bool


def show(request: Request) -> Response:
    """The form, and the budget of what was asked; a job's own at once."""
    place, asked = place_of(request, "budget"), asked_of(request)
    circuit = circuit_of(request, place, asked) if asked.given or place.work else None
    capacity = _capacity(asked)
    shown = None
    if circuit is not None and not asked.errors:
        with circuit.lock:
            shown = _shown(circuit, asked, capacity)
    return tool_page(
        request,
        "budget.html",
        place,
        asked,
        {
            "shown": shown,
            "controls": hand_controls(circuit.sheet) if circuit else (),
            "opens": _opens,
            "cold": lambda x: x.inrush > COLD * x.running and x.inrush > 0.01,
            "usual": USUAL_DRAIN,
            "source": SOURCE,
        },
    )


def _shown(circuit: Circuit, asked: Asked, capacity: float) -> Shown:
    found = budget(circuit.engine, state_of(circuit.sheet, asked), capacity=capacity)
    days = localised(asked.spoken, figures(found.days)) if isfinite(found.days) else ""
    return Shown(
        found, asked.spoken.listed(setup_words(found.setup, found.sheet)), days, found.parked > USUAL_DRAIN
    )


def _capacity(asked: Asked) -> float:
    """Of the battery [Ah]."""
    typed = asked.pointed("capacity").removesuffix("Ah").strip()
    try:
        found = float(typed) if typed else CAPACITY
    except ValueError:
        found = 0.0
    if not LEAST_CAPACITY <= found <= MOST_CAPACITY:
        asked.wrong("capacity", asked.spoken.gettext("Give 0.1 to 2000 Ah, such as 70."))
    return found


def state_of(sheet: Sheet, asked: Asked) -> Setup | None:
    """The operator state that was picked; None where nothing was."""
    picked = {
        c.name: asked.text(f"state:{c.name}")
        for c in sheet.controls.values()
        if asked.text(f"state:{c.name}") in c.positions
    }
    return make_setup(sheet, picked) if picked else None


def _opens(fuse: FuseLoad) -> str:
    return opens_in(fuse.share) if fuse.share > FROM_SHARE and fuse.time else ""


def take(request: Request) -> Response:
    """Keep what was asked and show its answer."""
    return ask(request, place_of(request, "budget").address)


ROUTES = [
    Route("/budget", show),
    Route("/budget", take, methods=["POST"]),
    Route("/job/{name}/budget", show),
    Route("/job/{name}/budget", take, methods=["POST"]),
]

"""Why a controller is not named yet, and what has to be read first."""

from __future__ import annotations

from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.controller_proof import HeldBack
from backprobe.report.layout import percent, wrap

SHOWN = 0.01
CONTROLLER = (
    "Before any controller is blamed: prove its feed and its ground under load, its inputs true with the "
    "plug on, and its output read with the plug on. Unplugged is never a neutral state."
)


def held_first(answer: Answer) -> HeldBack | None:
    """The suspect inside a controller that would lead, were it proven; None when none would."""
    most = max((g.probability for g in answer.groups), default=0.0)
    shown = [h for h in answer.held if h.probability >= SHOWN]
    held = max(shown, key=lambda h: h.probability, default=None)
    group = next((g for g in answer.groups if held and any(s.name == held.suspect for s in g.suspects)), None)
    return held if held and group and group.probability >= most else None


def held_headline(held: HeldBack) -> str:
    """The headline where only a controller would be left to name."""
    return (
        f"No controller is named before it is proven: {held.suspect} ({percent(held.probability)}) would "
        "lead, but not everything around it has been read."
    )


def held_lines(answer: Answer) -> list[str]:
    """What has to be read before the likeliest suspects inside a controller may lead."""
    shown = [h for h in answer.held if h.probability >= SHOWN]
    if not shown:
        return []
    held = max(shown, key=lambda h: h.probability)
    lines = wrap(f"Before {held.suspect} may lead, still to be read:")
    for missing in held.missing:
        lines += wrap(missing.what, "  - ", "    ")
    return lines

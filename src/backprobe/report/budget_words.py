"""A budget as text: fuses, drivers, feeds, loads and runs, and what is too much."""

from __future__ import annotations

from math import isfinite

from backprobe.report.layout import FIRST, joined, quantity, wrap
from backprobe.report.sanity_words import finding_lines
from backprobe.report.setup_words import setup_words
from backprobe.units import figures
from backprobe.workbench.budget import Budget
from backprobe.workbench.budget_lines import Draw, FuseLoad, RunDrop, Share
from backprobe.workbench.drain import USUAL_DRAIN
from backprobe.workbench.fuse_time import SOURCE
from backprobe.workbench.said import opens_in, percent

LEAST_DROP = 5e-4
"""Less than this a meter left in its volts range shows as nothing [V]."""


def budget_text(budget: Budget) -> str:
    """A whole budget for a terminal of 80 columns."""
    rested, running = (quantity(v, "V") for v in budget.volts)
    head = wrap(budget.sheet.name) + wrap(f"with {setup_words(budget.setup, budget.sheet)}")
    head += wrap(f"amperes rested ({rested}) / running ({running}) / running with the lowest ohms")
    blocks = [
        _titled("Fuses", [line for f in budget.fuses for line in _fuse(f)]),
        _titled("Drivers", [line for d in budget.drivers for line in _share(d)]),
        _titled("Feeds", [line for f in budget.feeds for line in _share(f)]),
        _titled("Loads", [line for load in budget.loads for line in _load(load)]),
        _titled("Lost in wires, joints and switches, running", [x for r in budget.runs for x in _run(r)]),
        _parked(budget),
        [line for finding in budget.findings for line in finding_lines(finding)],
    ]
    verdict = [] if budget.findings else wrap("Nothing is asked too much in this state.")
    return joined(head, *blocks, verdict, wrap(f"Times: {SOURCE}. {FIRST}"))


def _titled(title: str, lines: list[str]) -> list[str]:
    return [title, *lines] if lines else []


def _amps(*values: float) -> str:
    return " / ".join(quantity(v if v > 1e-6 else 0.0, "A") for v in values)


def _fuse(fuse: FuseLoad) -> list[str]:
    rating = f"{fuse.rating:g} A{' (assumed)' if fuse.assumed else ''}"
    words = f"{fuse.name}, {rating}: {_amps(fuse.rested, fuse.running, fuse.most)}, {percent(fuse.share)}"
    lines = wrap(words, "   ", "     ")
    if fuse.share > 0.5 and fuse.time:
        lines += wrap(f"at that it opens in {opens_in(fuse.share)}", "     ")
    if fuse.inrush > 1.5 * fuse.running and fuse.inrush > 0.01:
        lines += wrap(f"first moment, filaments cold: {_amps(fuse.inrush)}", "     ")
    return lines


def _share(share: Share) -> list[str]:
    limit = "limit not stated" if share.limit is None else f"limit {quantity(share.limit, 'A')}"
    part = "" if share.share is None else f", {percent(share.share)}"
    words = f"{share.name}, {limit}: {_amps(share.rested, share.running, share.most)}{part}"
    return wrap(words, "   ", "     ")


def _load(load: Draw) -> list[str]:
    words = f"{load.name}, {quantity(load.ohms, 'ohm')}: {_amps(load.rested, load.running, load.most)}"
    return wrap(f"{words}, {quantity(load.watts, 'W')}", "   ", "     ")


def _run(run: RunDrop) -> list[str]:
    words = f"{run.name}: {_drop(run.drop)} at {_amps(run.amps)}, {100 * run.share:.1f} %; most in "
    return wrap(f"{words}{run.worst}, {_drop(run.worst_drop)}", "   ", "     ")


def _drop(value: float) -> str:
    """A drop; where current flows there is one, though no meter shows it [V]."""
    return "under 1 mV" if 0 < abs(value) < LEAST_DROP else quantity(value, "V")


def _parked(budget: Budget) -> list[str]:
    if not isfinite(budget.days):
        return wrap("Parked, every control at rest: this circuit draws nothing.")
    words = f"Parked, every control at rest: {quantity(budget.parked, 'A')}"
    days = f"; {budget.capacity:g} Ah are empty in {figures(budget.days)} days"
    usual = "" if budget.parked <= USUAL_DRAIN else f", above the usual {USUAL_DRAIN * 1000:g} mA"
    return wrap(f"{words}{usual}{days}")

"""Budgets, wires, temperatures and findings as plain JSON values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict

from backprobe.report.data import Object, number, setup_data
from backprobe.sheet.cold_battery import ColdBattery
from backprobe.workbench.budget import Budget
from backprobe.workbench.budget_lines import Draw, FuseLoad, RunDrop, Share
from backprobe.workbench.finding import Finding
from backprobe.workbench.fuse_time import FuseTime
from backprobe.workbench.temperature import CopperReading
from backprobe.workbench.wire import Joint, WireDrop


def budget_data(budget: Budget) -> Object:
    """A budget."""
    return {
        "sheet": budget.sheet.name,
        "setup": setup_data(budget.setup),
        "volts": list(budget.volts),
        "fuses": [fuse_data(f) for f in budget.fuses],
        "drivers": [share_data(d) for d in budget.drivers],
        "feeds": [share_data(f) for f in budget.feeds],
        "loads": [load_data(d) for d in budget.loads],
        "runs": [run_data(r) for r in budget.runs],
        "parked": budget.parked,
        "capacity": budget.capacity,
        "days_to_flat": number(budget.days),
        "findings": findings_data(budget.findings),
    }


def fuse_data(fuse: FuseLoad) -> Object:
    """A fuse with its load and its time."""
    return {**asdict(fuse), "share": fuse.share, "opens": time_data(fuse.time) if fuse.time else None}


def time_data(time: FuseTime) -> Object:
    """Seconds within which a fuse opens; `most` is null where it need not."""
    return {"least": time.least, "most": number(time.most)}


def share_data(share: Share) -> Object:
    """A driver or a feed."""
    return {**asdict(share), "share": share.share}


def load_data(load: Draw) -> Object:
    """A load."""
    return {**asdict(load), "watts": load.watts}


def run_data(run: RunDrop) -> Object:
    """What a run loses."""
    return asdict(run)


def findings_data(findings: Sequence[Finding]) -> list[Object]:
    """Findings, in the order given."""
    return [asdict(f) for f in findings]


def sanity_data(findings: Sequence[Finding], name: str, *, claims: bool) -> Object:
    """The findings of a sheet or of claims."""
    return {"source": name, "claims": claims, "findings": findings_data(findings)}


def wire_data(
    *,
    drop: WireDrop | None = None,
    joint: Joint | None = None,
    sizes: tuple[float | None, float | None] | None = None,
) -> Object:
    """What was asked of a wire; what was not is null."""
    if drop is not None:
        sizes = (drop.least_critical, drop.least_ordinary)
    return {
        "drop": None if drop is None else {**_drop(drop)},
        "joint": None if joint is None else {**asdict(joint), "over": list(joint.over), "state": joint.state},
        "least": None if sizes is None else {"critical": sizes[0], "ordinary": sizes[1]},
    }


def _drop(drop: WireDrop) -> Object:
    kept = {k: v for k, v in asdict(drop).items() if not k.startswith("least_")}
    return {**kept, "gauge": drop.gauge, "largest_fuse": drop.largest_fuse}


def temperature_data(
    *,
    reading: CopperReading | None = None,
    window: Object | None = None,
    battery: ColdBattery | None = None,
) -> Object:
    """What was asked at a temperature; what was not is null."""
    return {
        "reading": None if reading is None else _reading(reading),
        "window": window,
        "battery": None if battery is None else {**asdict(battery), "resistance": battery.resistance},
    }


def window_data(
    low: float, high: float, moved: tuple[float, float], celsius: tuple[float, float], convention: str
) -> Object:
    """A window and where it moves to."""
    return {
        "low": low,
        "high": high,
        "celsius": celsius[0],
        "moved_low": moved[0],
        "moved_high": moved[1],
        "reference": celsius[1],
        "convention": convention,
    }


def _reading(reading: CopperReading) -> Object:
    kept = {k: v for k, v in asdict(reading).items() if not k.startswith("window")}
    for name in ("window", "window_here"):
        found: tuple[float, float] | None = getattr(reading, name)
        kept[name] = None if found is None else {"low": found[0], "high": found[1]}
    return {**kept, "good": reading.good}

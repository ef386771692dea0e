"""What a budget's lines say is too much."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.sheet.model import Sheet
from backprobe.units import figures
from backprobe.workbench.budget_lines import FuseLoad, RunDrop, Share
from backprobe.workbench.finding import Finding
from backprobe.workbench.fuse_time import CONTINUOUS, GATES
from backprobe.workbench.said import amps, opens_in, percent, volts
from backprobe.workbench.wire import ORDINARY

CARRIES = GATES[0][0]
"""Share of its rating that a fuse carries for at least 100 h [1]."""


def judge(
    sheet: Sheet,
    fuses: Sequence[FuseLoad],
    drivers: Sequence[Share],
    feeds: Sequence[Share],
    runs: Sequence[RunDrop],
) -> tuple[Finding, ...]:
    """The findings of a budget, fuses first."""
    found = [f for fuse in fuses if (f := _fuse(sheet, fuse))]
    found += [f for d in drivers if (f := _limit(sheet, d, "driver"))]
    found += [f for d in feeds if (f := _limit(sheet, d, "feed"))]
    found += [_drop(sheet, run) for run in runs if run.share > ORDINARY]
    return tuple(found)


def _fuse(sheet: Sheet, fuse: FuseLoad) -> Finding | None:
    line = sheet.parts[fuse.name].line
    rating = amps(fuse.rating)
    if fuse.share > CARRIES:
        opens = f"; it opens in {opens_in(fuse.share)}" if fuse.time else ""
        sum_ = f"{amps(fuse.running)} / {rating} = {percent(fuse.share)}{opens}"
        right = "Look for a load that is lower than its own value or too many at once; never a larger fuse."
        return Finding(fuse.name, rating, sum_, right, not fuse.assumed, line)
    if fuse.most / fuse.rating > CARRIES:
        sum_ = f"with the lowest ohms {amps(fuse.most)} / {rating} = {percent(fuse.most / fuse.rating)}"
        return Finding(fuse.name, rating, sum_, "Measure the amps in the fuse's place.", False, line)
    if fuse.share > CONTINUOUS:
        sum_ = f"{amps(fuse.running)} / {rating} = {percent(fuse.share)}; for hours {percent(CONTINUOUS)}"
        right = "That alone opens no fuse in seconds, but it runs warm; look at the holder."
        return Finding(fuse.name, rating, sum_, right, False, line)
    if fuse.inrush / fuse.rating > GATES[-1][0]:
        sum_ = f"cold filaments {amps(fuse.inrush)} / {rating} = {percent(fuse.inrush / fuse.rating)}"
        right = "It may open now and then on switching on; switch lamps on one after the other."
        return Finding(fuse.name, rating, sum_, right, False, line)
    return None


def _limit(sheet: Sheet, share: Share, what: str) -> Finding | None:
    if share.limit is None or share.most <= share.limit:
        return None
    part = sheet.parts[share.name.partition(".")[0]]
    over = share.running > share.limit
    flow = share.running if over else share.most
    sum_ = f"{'' if over else 'with the lowest ohms '}{amps(flow)} asked of {amps(share.limit)}"
    right = f"The {what} limits or switches off; find what draws too much, or correct the limit."
    pin = part.pins.get(share.name.partition(".")[2])
    return Finding(share.name, amps(share.limit), sum_, right, over, pin.line if pin else part.line)


def _drop(sheet: Sheet, run: RunDrop) -> Finding:
    sum_ = f"{volts(run.drop)} of {volts(sheet.system_volts)} lost at {amps(run.amps)} = {percent(run.share)}"
    right = f"Most is lost in {run.worst}: {volts(run.worst_drop)}, {figures(run.worst_watts, 2)} W."
    return Finding(f"runs.{run.name}", volts(run.drop), sum_, right, False, sheet.runs[run.name].line)

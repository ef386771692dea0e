"""What a recording of volts over time says: dropouts, changes, notes that fall together, and who moved."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from backprobe.circuit.compiled import Floats
from backprobe.errors import Problem, ReadingError
from backprobe.workbench.change_points import Change, Changes, find_changes
from backprobe.workbench.dropouts import (
    WITHIN,
    Dropouts,
    Flags,
    NoteHits,
    find_dropouts,
    match_notes,
    noise_of,
)
from backprobe.workbench.recording import Channel, Note, Recording

LEAST_VALUES = 60
"""Values of a channel below which no changes are looked for."""
FOLLOWS = 0.25
"""Share of the first channel's relative move from which another counts as moved too [1]."""
SURE = 4.0
"""Standard errors that a move of the other channel must have besides [1]."""


@dataclass(frozen=True, slots=True)
class Companion:
    """What another channel of the same unit did when one moved.

    A real change of a load or a feed moves what is upstream too; a meter, its lead or a joint beyond the
    other point moves alone. Moves are compared as shares of their own level.

    Parameters
    ----------
    what
        ``dropouts``, ``step`` or ``drift``, and when it was [s].
    own, others
        Moves of the two [unit].
    verdict
        ``together`` or ``alone``.
    """

    channel: str
    other: str
    what: Literal["dropouts", "step", "drift"]
    time: float
    own: float
    others: float
    verdict: Literal["together", "alone"]


@dataclass(frozen=True, slots=True, eq=False)
class LogStudy:
    """What a recording says.

    Parameters
    ----------
    dropouts
        Of every channel, in their order.
    changes
        Of every channel that has values enough, its dropouts left out.
    notes
        Against the dropouts of the channel asked about, the least likely to be chance first.
    """

    recording: Recording
    channel: Channel
    dropouts: tuple[Dropouts, ...]
    changes: tuple[Changes, ...]
    notes: tuple[NoteHits, ...]
    companions: tuple[Companion, ...]

    @property
    def own(self) -> Dropouts:
        """Dropouts of the channel asked about."""
        return next(d for d in self.dropouts if d.channel == self.channel.name)

    @property
    def anything(self) -> bool:
        """Whether there was a dropout or a change at all."""
        return any(d.spans for d in self.dropouts) or any(c.found for c in self.changes)


def study_log(
    recording: Recording, channel: str = "", *, notes: Sequence[Note] = (), within: float | None = None
) -> LogStudy:
    """Study a recording.

    Parameters
    ----------
    channel
        The channel that notes are held against; the first when empty.
    notes
        Notes besides those of the recording.
    within
        How near to its beginning a note belongs to a dropout [s]; by default `WITHIN`, or a tenth of a short
        recording.

    Raises
    ------
    ReadingError
        For an unknown channel, or a `within` that is no time.
    """
    whole = float(recording.times[-1] - recording.times[0])
    if within is None:
        within = min(WITHIN, whole / 10)
    if not 0 < within < whole:
        remedy = "Give seconds, shorter than the recording."
        raise ReadingError(Problem("within", f"{within:g} s", "is no time to look within", remedy))
    chosen = recording.channel(channel)
    t = recording.times
    dropouts = tuple(find_dropouts(t, c.values, name=c.name, unit=c.unit) for c in recording.channels)
    away = [_away(t, d) for d in dropouts]
    steady = [np.where(a, np.nan, c.values) for a, c in zip(away, recording.channels, strict=True)]
    changes = tuple(
        find_changes(t, y, name=c.name, unit=c.unit)
        for y, c in zip(steady, recording.channels, strict=True)
        if np.isfinite(y).sum() >= LEAST_VALUES
    )
    own = next(d for d in dropouts if d.channel == chosen.name)
    all_notes = sorted([*recording.notes, *notes], key=lambda n: n.time)
    hits = match_notes(all_notes, own.spans, (float(t[0]), float(t[-1])), within=within)
    companions = _companions(recording, dropouts, changes)
    return LogStudy(recording, chosen, dropouts, changes, hits, companions)


def _away(t: Floats, dropouts: Dropouts) -> Flags:
    """Times inside a dropout, and a spacing round it."""
    pad = 0.6 * dropouts.spacing
    starts = np.array([s.start - pad for s in dropouts.spans])
    ends = np.array([s.end + pad for s in dropouts.spans])
    inside: Flags = np.searchsorted(starts, t, side="right") > np.searchsorted(ends, t, side="left")
    return inside


def _companions(
    recording: Recording, dropouts: Sequence[Dropouts], changes: Sequence[Changes]
) -> tuple[Companion, ...]:
    """Every move of every channel against the others of its unit."""
    t = recording.times
    found: list[Companion] = []
    for channel in recording.channels:
        others = [c for c in recording.channels if c.unit == channel.unit and c is not channel]
        drops = next(d for d in dropouts if d.channel == channel.name)
        own = next((c for c in changes if c.channel == channel.name), None)
        for other in others:
            if drops.spans:
                found.append(_at_dropouts(t, channel, other, drops))
            ends = [c.until for c in own.found] if own else []
            for i, change in enumerate(own.found if own else ()):
                before = ends[i - 1] if i else float(t[0])
                after = own.found[i + 1].time.best if own and i + 1 < len(own.found) else float(t[-1])
                found.append(_at_change(t, channel, other, change, (before, after)))
    return tuple(found)


def _at_dropouts(t: Floats, channel: Channel, other: Channel, drops: Dropouts) -> Companion:
    inside = _away(t, drops)
    reach = int(max(5, round(float(np.median([s.length for s in drops.spans])) / drops.spacing)))
    near = np.convolve(inside, np.ones(2 * reach + 1), mode="same") > 0 if reach < len(t) // 4 else ~inside
    moved = _move(other.values[near & ~inside], other.values[inside])
    own = drops.away - drops.steady
    verdict = _verdict(own / _level(drops.steady), moved, other)
    return Companion(channel.name, other.name, "dropouts", drops.spans[0].start, own, moved[0], verdict)


def _at_change(
    t: Floats, channel: Channel, other: Channel, change: Change, window: tuple[float, float]
) -> Companion:
    before = (t >= window[0]) & (t < change.time.low)
    after = (t > change.time.high) & (t <= window[1])
    if change.kind == "drift":
        # What a drift has come to shows in its last quarter.
        after = (t > change.until - (change.until - change.time.best) / 4) & (t <= change.until)
    own = _move(channel.values[before], channel.values[after])
    moved = _move(other.values[before], other.values[after])
    level = float(np.nanmedian(channel.values[before])) if before.any() else 1.0
    verdict = _verdict(own[0] / _level(level), moved, other)
    return Companion(channel.name, other.name, change.kind, change.time.best, own[0], moved[0], verdict)


def _move(before: Floats, after: Floats) -> tuple[float, float]:
    """Difference of two medians, and its standard error from the scatter of both."""
    one, two = before[np.isfinite(before)], after[np.isfinite(after)]
    if len(one) < 2 or len(two) < 2:
        return 0.0, float("inf")
    error = np.hypot(noise_of(one) / np.sqrt(len(one)), noise_of(two) / np.sqrt(len(two)))
    return float(np.median(two) - np.median(one)), float(error)


def _verdict(own_share: float, moved: tuple[float, float], other: Channel) -> Literal["together", "alone"]:
    size, error = moved
    share = abs(size) / _level(float(np.nanmedian(other.values)))
    return "together" if abs(size) > SURE * error and share >= FOLLOWS * abs(own_share) else "alone"


def _level(value: float) -> float:
    return max(abs(value), 1e-6)

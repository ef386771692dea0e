"""Every way to join the cavities of a plug: on a sound machine, under suspects and under every fault."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from backprobe.diagnosis.engine import Engine
from backprobe.readings.model import Reading
from backprobe.sheet.model import Sheet
from backprobe.workbench import verdict as v
from backprobe.workbench.claim import Cure
from backprobe.workbench.claim_joins import Blocks, block_words, jumpers
from backprobe.workbench.join_bench import JoinBench
from backprobe.workbench.join_sweep import Sweep, place, sweep
from backprobe.workbench.trial import Trials
from backprobe.workbench.trial_values import Meaning


@dataclass(frozen=True, slots=True)
class Join:
    """One way to join cavities of a plug.

    Parameters
    ----------
    sound
        Its verdict on a sound machine, worst over all operator states.
    meaning
        The same judged in full, with reasons and under the current suspects.
    faults
        Verdict to the number of single faults under which it is the worst one.
    defeats_with
        Faults under which it defeats the guard although it does not on a sound machine.
    """

    blocks: Blocks
    sound: str
    meaning: Meaning
    faults: tuple[tuple[str, int], ...]
    defeats_with: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AllJoins:
    """All joins of one plug.

    Parameters
    ----------
    unplugged
        Whether they were tried with the plug off, on its machine side.
    trials
        Circuits that were judged.
    """

    sheet: Sheet
    plug: str
    unplugged: bool
    joins: tuple[Join, ...]
    faults: int
    states: int
    trials: int
    readings: tuple[Reading, ...]


def all_joins(
    sheet: Sheet | Engine,
    plug: str,
    readings: str | Sequence[Reading] = (),
    *,
    unplugged: bool = True,
) -> AllJoins:
    """Try every way to join the cavities of a plug, on a sound machine, under suspects and under every fault.

    Parameters
    ----------
    sheet
        A sheet, or an `Engine` made from one.
    plug
        Name of the connector.
    readings
        What was read, or its typed lines; the current suspects follow from it.
    unplugged
        Whether the plug is off, and the leads in its machine side.

    Raises
    ------
    ClaimError
        When there is no such plug, or it has too many cavities.
    """
    name = plug.strip().upper()
    trials = Trials(sheet, readings)
    found = sweep(trials.engine, name, unplugged=unplugged, watch=trials.watch)
    worst = found.severity.max(axis=0)
    joins = []
    for j, (blocks, meaning) in enumerate(
        zip(found.joins, _meanings(trials, found, name, unplugged=unplugged), strict=True)
    ):
        counts = np.bincount(worst[j, 1:], minlength=len(v.RANK))
        sound = int(worst[j, 0])
        also = [f for f, w in zip(found.faults[1:], worst[j, 1:], strict=True) if w == 3 > sound]
        numbered = tuple((v.RANK[k], int(counts[k])) for k in reversed(range(len(v.RANK))) if counts[k])
        joins.append(Join(blocks, v.RANK[sound], meaning, numbered, tuple(also)))
    shape = found.severity.shape
    return AllJoins(
        trials.engine.sheet,
        name,
        unplugged,
        tuple(sorted(joins, key=lambda j: v.VERDICTS.index(j.sound))),
        len(found.faults) - 1,
        len(found.states),
        int(np.prod(shape)),
        trials.readings,
    )


def _meanings(trials: Trials, found: Sweep, plug: str, *, unplugged: bool) -> Iterator[Meaning]:
    """Every join judged in full, in their order."""
    cures = [_cure(blocks, plug, unplugged) for blocks in found.joins]
    if trials.builds:
        # On each build another circuit: one after the other.
        return (trials.judge([cure]).meanings[0] for cure in cures)
    reach, points = place(trials.engine, plug, found.joins, unplugged=unplugged)
    return JoinBench(trials.bench, reach, points).judge_all(cures)


def _cure(blocks: Blocks, plug: str, unplugged: bool) -> Cure:
    leads = tuple(a for b in blocks for a in jumpers([f"{c}.machine" for c in b]))
    off = frozenset({plug}) if unplugged else frozenset()
    return Cure(block_words(blocks), "join", leads, off, touches=tuple(c for b in blocks for c in b))

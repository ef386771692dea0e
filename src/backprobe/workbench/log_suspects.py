"""Which faults of a sheet explain both levels of a recording: one when sound, one with the fault."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from backprobe.diagnosis.answer import Answer, Suspect
from backprobe.diagnosis.builds import rank_builds
from backprobe.diagnosis.engine import Engine
from backprobe.errors import Problem, ReadingError
from backprobe.readings.lines import parse_context, parse_reading
from backprobe.readings.model import GAIN, Reading
from backprobe.sheet.model import Sheet
from backprobe.workbench.dropouts import Dropouts

FITS = 3.0
"""Standard deviations within which a sound circuit shows a level [1]."""
NEAR = 0.15
"""Share of the step within which a suspect must predict the other level [1]."""
LASTING = frozenset({"blown", "low charge", "one cell dead"})
"""Faults that do not come back right by themselves, as wrong wiring does not; common practice, no source."""
LEAST = 0.005
"""Probability below which a suspect is left out [1]."""


@dataclass(frozen=True, slots=True)
class Level:
    """One level of a recording against a sound circuit.

    Parameters
    ----------
    volts
        As recorded [V].
    sound, spread
        What a sound circuit shows there, and its standard deviation [V].
    """

    volts: float
    sound: float
    spread: float

    @property
    def fits(self) -> bool:
        """Whether a sound circuit shows it."""
        return abs(self.volts - self.sound) <= FITS * self.spread


@dataclass(frozen=True, slots=True)
class LogSuspect:
    """A fault that comes and goes.

    Parameters
    ----------
    predicted
        What it makes of the point while it is there [V].
    probability
        That it is the cause of the level that is not as built [1].
    lasting
        Whether such a fault stays once it is there, so that it hardly comes and goes.
    """

    name: str
    probability: float
    predicted: float
    lasting: bool


@dataclass(frozen=True, slots=True, eq=False)
class LogSuspects:
    """What explains the two levels.

    Parameters
    ----------
    as_built
        Which level a sound circuit shows: ``steady`` (the usual one), ``away``, or ``neither``.
    steady, away
        The two levels.
    suspects
        Most probable first: faults that show the other level, while a sound circuit shows this one.
    none_of_these
        Probability that the sheet has no such fault.
    """

    as_built: Literal["steady", "away", "neither"]
    steady: Level
    away: Level
    suspects: tuple[LogSuspect, ...]
    none_of_these: float
    answer: Answer


def log_suspects(
    sheet: Sheet,
    dropouts: Dropouts,
    red: str,
    black: str = "battery-",
    *,
    state: str = "",
    circumstances: Iterable[str] = (),
) -> LogSuspects:
    """Rank what explains a recording's two levels.

    Parameters
    ----------
    dropouts
        Of the channel recorded between `red` and `black`.
    state
        Operator state and plugs while it was recorded, as ``key on, gate shut, all plugged``.
    circumstances
        As for `backprobe.rank`.

    Raises
    ------
    ReadingError
        When the points or the state cannot be understood, or the channel has no two levels of volts.
    """
    if dropouts.unit != "V" or not dropouts.spans:
        message = "has no two levels in volts"
        remedy = "Record volts while the fault comes and goes; what stays needs `backprobe rank`."
        raise ReadingError(Problem("channel", dropouts.channel, message, remedy))
    engine = Engine(sheet, tuple(circumstances))
    levels = (dropouts.steady, dropouts.away)
    readings = [_reading(sheet, volts, (red, black), state) for volts in levels]
    steady, away = (_level(engine, r, dropouts.noise) for r in readings)
    as_built: Literal["steady", "away", "neither"] = "neither"
    if steady.fits or away.fits:
        nearer = abs(steady.volts - steady.sound) <= abs(away.volts - away.sound)
        as_built = "steady" if nearer else "away"
    odd = 0 if as_built == "away" else 1
    answer = rank_builds(engine, [readings[odd]])
    room = max(NEAR * abs(levels[1] - levels[0]), FITS * readings[odd].own_spread)
    found = tuple(
        LogSuspect(s.name, s.probability, s.reasons[0].predicted, _lasting(s, engine))
        for s in answer.suspects
        if s.probability >= LEAST and s.reasons and abs(s.reasons[0].predicted - levels[odd]) <= room
    )
    return LogSuspects(as_built, steady, away, found, answer.none_of_these, answer)


def _reading(sheet: Sheet, volts: float, points: tuple[str, str], state: str) -> Reading:
    """A level as if it had been read once."""
    context = parse_context(state, sheet, file="--state") if state.strip() else None
    return parse_reading(f"{points[0]} to {points[1]}: {volts:.3f} V", sheet, context, file="--state")


def _lasting(suspect: Suspect, engine: Engine) -> bool:
    modes = [engine.catalogue.modes[m] for m in suspect.modes]
    return any(m.family == "wiring" or m.name.rsplit(": ", 1)[-1] in LASTING for m in modes)


def _level(engine: Engine, reading: Reading, noise: float) -> Level:
    prediction = engine.single_number(reading)
    circuit = ((prediction.loading[0] * engine.single_spread[0]) ** 2).sum() + prediction.extra[0]
    meter = (GAIN["volts"] * reading.value) ** 2 / 3 + reading.own_spread**2
    return Level(reading.value, float(prediction.mean[0]), float(np.sqrt(circuit + meter + noise**2)))

"""Every fault of a circuit as one row of a table: which mode, how severe, how likely beforehand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from backprobe.circuit.compiled import Circuit, Floats, Ints
from backprobe.circuit.solve import Changes
from backprobe.sheet.anatomy import OPEN, WORN_BELOW, Mode

AS_BUILT = 0.05
"""Prior of *no fault in this circuit*: built-in behaviour or a wrong measurement, 4 of 62 field accounts."""

NONE_OF_THESE = 0.02
"""Prior that the sheet itself is wrong; common practice, no source."""

WORN_TOO = 0.1
"""Chance that a given joint is worn although it is not the cause: wear is everywhere on an old machine;
common practice, no source."""

USUAL_RATE = 1.5
"""Rate of a common joint; `WORN_TOO` is for such a one and goes with the rate."""

MILD_OHMS = 3.0
"""Resistance from which wear gets rarer [ohm]; common practice, no source."""

COINCIDENCE = 0.15
"""Factor on a second fault that is not wear: two separate failures at once are rare; common practice."""

CLEAN_BREAK = 0.6
"""Share of breaks that nothing bridges; common practice, no source."""

CIRCUMSTANCES: dict[str, dict[str, float]] = {
    # Factors by family; common practice, no source. Shown with every answer that uses them.
    "wet": {"copper": 1.5, "contact": 3.0, "part": 1.2},
    "after repair": {"wiring": 8.0, "contact": 2.0, "copper": 1.5},
    "rough ground": {"copper": 2.0, "contact": 2.0},
    "after storage": {"contact": 2.0, "copper": 1.5, "source": 3.0},
}


@dataclass(frozen=True, slots=True, eq=False)
class Catalogue:
    """All single faults of a circuit, severity by severity; row 0 is the circuit as built.

    Parameters
    ----------
    mode_of, level_of
        ``(c,)`` index of the mode (-1 for as built) and of the severity within it.
    changes
        The rows as parameter changes.
    log_prior
        ``(c,)`` natural logarithm of each row's prior; the rows sum to 1 - `NONE_OF_THESE`.
    log_extra
        ``(c,)`` what a row costs as a further fault beside another.
    spread_of
        ``(c,)`` spread of the severity inside its cell [1].
    """

    circuit: Circuit
    modes: tuple[Mode, ...]
    mode_of: Ints
    level_of: Ints
    changes: Changes
    log_prior: Floats
    log_extra: Floats
    spread_of: Floats
    factors: dict[str, float]

    @property
    def count(self) -> int:
        """Number of rows."""
        return len(self.mode_of)

    def rows_of(self, mode: int) -> Ints:
        """Rows of one mode, by severity."""
        return np.flatnonzero(self.mode_of == mode)

    def prior_of(self, mode: int) -> float:
        """Prior of one mode over all its severities."""
        return float(np.exp(self.log_prior[self.rows_of(mode)]).sum())


def _shares(grids: list[tuple[float, ...]]) -> Floats:
    """How a mode's prior is spread over its severities: a break is mostly a clean one."""
    levels = len(grids[0])
    breaks = levels > 1 and grids[0][-1] >= OPEN and grids[0][0] >= WORN_BELOW
    if not breaks:
        return np.full(levels, 1 / levels)
    shares = np.full(levels, (1 - CLEAN_BREAK) / (levels - 1))
    shares[-1] = CLEAN_BREAK
    return shares


def make_catalogue(circuit: Circuit, circumstances: Iterable[str] = ()) -> Catalogue:
    """Tabulate every fault of a circuit.

    Parameters
    ----------
    circumstances
        Words of `CIRCUMSTANCES` that the complaint mentions.

    Raises
    ------
    ValueError
        For an unknown circumstance.
    """
    words = tuple(circumstances)
    for word in words:
        if word not in CIRCUMSTANCES:
            raise ValueError(f"'{word}' is not one of: {', '.join(CIRCUMSTANCES)}")
    factors: dict[str, float] = {}
    for word in words:
        for family, factor in CIRCUMSTANCES[word].items():
            factors[family] = factors.get(family, 1.0) * factor
    rates = np.array([m.rate * factors.get(m.family, 1.0) for m in circuit.modes])
    total = float(rates.sum()) or 1.0
    mode_of, level_of = [-1], [0]
    index: list[list[int]] = [[]]
    value: list[list[float]] = [[]]
    log_prior = [np.log(AS_BUILT)]
    log_extra = [0.0]
    spread = [0.0]
    share = 1 - AS_BUILT - NONE_OF_THESE
    for m, mode in enumerate(circuit.modes):
        grids = list(mode.changes.values())
        levels = len(grids[0])
        keys = [circuit.parameter_of[k] for k in mode.changes]
        prior = share * rates[m] / total
        if mode.is_wear:
            # Much wear is mild: a joint that lost half an ohm is met more often than one that lost kilohms.
            mild = 1 / (1 + np.array(grids[0]) / MILD_OHMS) ** 0.5
            extra = WORN_TOO * mode.rate / USUAL_RATE * mild / mild.sum()
        else:
            extra = np.full(levels, COINCIDENCE * prior / levels)
        shares = _shares(grids)
        for level in range(levels):
            mode_of.append(m)
            level_of.append(level)
            index.append(keys)
            value.append([g[level] for g in grids])
            log_prior.append(float(np.log(prior * shares[level])))
            log_extra.append(float(np.log(extra[level])))
            spread.append(mode.spread)
    width = max(len(i) for i in index) or 1
    indices = np.full((len(index), width), -1, np.int64)
    values = np.zeros((len(index), width))
    for row, (keys, numbers) in enumerate(zip(index, value, strict=True)):
        indices[row, : len(keys)] = keys
        values[row, : len(numbers)] = numbers
    return Catalogue(
        circuit,
        circuit.modes,
        np.array(mode_of),
        np.array(level_of),
        Changes(indices, values),
        np.array(log_prior),
        np.array(log_extra),
        np.array(spread),
        factors,
    )

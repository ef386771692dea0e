"""What a sweep of joins looks at: as a trial does, in circuits narrowed to what is asked."""

from __future__ import annotations

from copy import copy

import numpy as np

from backprobe.circuit.narrow import Narrow, narrowed
from backprobe.workbench.trial_effects import Watch
from backprobe.workbench.trial_limits import Limits


class NarrowLimits(Limits):
    """The limits of a sheet, measured in its narrowed circuit.

    Parameters
    ----------
    whole
        The limits of the whole circuit.
    """

    def __init__(self, whole: Limits) -> None:
        self.__dict__.update(whole.__dict__)
        nodes = {int(n) for s in whole._selectors for n in np.flatnonzero(s)}
        self.narrow: Narrow = narrowed(whole.circuit, whole._currents, nodes)
        self.circuit = self.narrow.circuit
        self._currents = np.searchsorted(self.narrow.branches, whole._currents).tolist()
        self._selectors = [s[self.narrow.nodes] for s in whole._selectors]


def narrowed_watch(watch: Watch) -> tuple[Watch, Narrow]:
    """The same watch for solutions in a narrowed circuit, and that."""
    found = copy(watch)
    limits = NarrowLimits(watch.limits)
    found.limits = limits
    return found, limits.narrow

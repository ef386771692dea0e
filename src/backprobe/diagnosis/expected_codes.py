"""What the controller would say if a suspect were the fault: electrical failure modes at its pins."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from backprobe.circuit.setup import Setup
from backprobe.circuit.solve import Changes, no_changes, solve_changes
from backprobe.diagnosis.answer import Answer, Suspect
from backprobe.faults.failure_mode import ERRATIC, PinCode, pin_codes

JOINTS = frozenset({"copper", "contact"})
"""Families of faults that come and go with every jolt."""


def expected_codes(
    answer: Answer, suspects: Sequence[Suspect] | None = None
) -> dict[str, tuple[PinCode, ...]]:
    """Pins that each suspect puts out of the normal, in the setup of the complaint.

    Parameters
    ----------
    suspects
        Those asked about; all of them when None.

    Returns
    -------
    dict
        Name of the suspect to its pins; empty when every reading was made with something
        unplugged or attached, since codes set then say nothing of the fault.
    """
    setup = _whole_setup(answer)
    suspects = answer.suspects if suspects is None else suspects
    if setup is None or not suspects or not answer.engine.circuit.inputs:
        return {}
    changed = [_changed(answer, s.modes, s.best) for s in suspects]
    width = max(len(c) for c in changed)
    index = np.full((len(changed), width), -1, np.int64)
    value = np.zeros((len(changed), width))
    for row, keys in enumerate(changed):
        index[row, : len(keys)] = list(keys)
        value[row, : len(keys)] = list(keys.values())
    stage = answer.engine.stage(setup)
    found = pin_codes(solve_changes(stage, no_changes()), solve_changes(stage, Changes(index, value)))
    return {s.name: _as_seen(answer, s.modes, codes) for s, codes in zip(suspects, found, strict=True)}


def _as_seen(answer: Answer, modes: tuple[int, ...], codes: tuple[PinCode, ...]) -> tuple[PinCode, ...]:
    """The codes, erratic where a joint or wire is at fault and a reading would not stand still."""
    families = {answer.engine.catalogue.modes[m].family for m in modes}
    if families <= JOINTS and any(r.unsteady for r in answer.readings.all):
        return tuple(PinCode(c.pin, ERRATIC) for c in codes)
    return codes


def _changed(answer: Answer, modes: tuple[int, ...], best: int) -> dict[int, float]:
    """What the faults of a suspect change, as severe as its best explanation has them."""
    circuit = answer.engine.circuit
    keys = [circuit.parameter_of[k] for m in modes for k in answer.engine.catalogue.modes[m].changes]
    return {k: float(answer.explanations.values[best, k]) for k in keys}


def _whole_setup(answer: Answer) -> Setup | None:
    """The setup of the complaint, or of the first reading with everything plugged and nothing attached."""
    read = [r for r in answer.readings.all if r.kind not in {"swapped", "looked"}]
    read.sort(key=lambda r: not (r.kind == "works" and r.seen == "dead"))
    return next((r.setup for r in read if not r.setup.unplugged and not r.setup.attached), None)

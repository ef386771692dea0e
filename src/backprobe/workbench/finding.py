"""One thing that the numbers say is wrong or odd, with its arithmetic."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Finding:
    """A number that cannot be so, or that deserves a look.

    Parameters
    ----------
    field
        Where it stands: ``parts.coil Y1.ohms``, ``fuse F1``, or the claim's rule.
    value
        As written.
    arithmetic
        The reckoning that speaks against it, with its numbers.
    right
        What would be right, or what to do.
    wrong
        True where it cannot be so; False where it is only worth a look.
    line
        Line in its file, from 1; 0 where there is none.
    holds
        The arithmetic bears it out: said of claims, which are answered either way.
    """

    field: str
    value: str
    arithmetic: str
    right: str
    wrong: bool = True
    line: int = 0
    holds: bool = False

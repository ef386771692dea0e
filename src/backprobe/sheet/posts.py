"""The source that everything is referred to: the battery, or the alternator of a machine that has none."""

from __future__ import annotations

from collections.abc import Mapping

BATTERY = "battery"
PLUS, MINUS = "battery.+", "battery.-"


def source_posts(kind_of: Mapping[str, str]) -> tuple[str, str]:
    """Terminals of the source, plus and minus.

    Parameters
    ----------
    kind_of
        Part to the name of its kind.
    """
    if BATTERY not in kind_of:
        for name, kind in kind_of.items():
            if kind == "alternator":
                return f"{name}.stud", f"{name}.case"
    return PLUS, MINUS

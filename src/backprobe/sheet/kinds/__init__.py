"""Part kinds, one file each; `registry` finds every file in this folder."""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from backprobe.sheet.kind import Kind, Registry


@cache
def registry() -> Registry:
    """All kinds in this folder: a new kind is one new file that defines ``KIND``."""
    found = Registry()
    for module in sorted(pkgutil.iter_modules(__path__), key=lambda m: m.name):
        if module.name.startswith("_"):
            continue
        kind = importlib.import_module(f"{__name__}.{module.name}").KIND
        if not isinstance(kind, Kind):
            raise TypeError(f"{module.name}.KIND is not a Kind")
        found.add(kind)
    return found

"""Modules import only from floors below their own, and nothing imports in a circle between floors."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[1] / "src" / "backprobe"

FLOORS = {
    "errors": 0,
    "units": 0,
    "unit_slips": 0,
    "unit_tables": 0,
    "sheet": 0,
    "circuit": 1,
    "faults": 2,
    "readings": 2,
    "diagnosis": 3,
    "api": 4,
    "workbench": 4,
    "jobs": 5,
    "report": 6,
    "demo": 6,
    # its `serve` starts the web page, which knows nothing of commands
    "cli": 8,
    "web": 7,
}


def imported(path: Path) -> set[str]:
    """Names of the package's own modules that a file imports, wherever in the file."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
    return {name for name in found if name.startswith("backprobe.")}


FILES = sorted(p for p in SOURCE.rglob("*.py") if p.name != "__init__.py" or p.parent != SOURCE)


@pytest.mark.parametrize("path", FILES, ids=[str(p.relative_to(SOURCE)) for p in FILES])
def test_imports_go_down(path: Path) -> None:
    """A file of one floor imports from its own folder or from floors below."""
    place = path.relative_to(SOURCE).parts[0].removesuffix(".py")
    assert place in FLOORS, f"say on which floor {place} stands"
    for name in imported(path):
        other = name.split(".")[1]
        assert other == place or FLOORS[other] <= FLOORS[place], f"{place} imports {name}"
        if other != place and FLOORS[other] == FLOORS[place]:
            assert FLOORS[place] == 0 or {place, other} <= {"faults", "readings", "report", "demo"}

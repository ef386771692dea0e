"""The checks against outside values, as the tests of `tests/reference` carry them.

Each test has a mark::

    @pytest.mark.outside(subject="two-wire inputs", source="IEC 60947-5-6", mark="seen")

or its module has one for all tests in it, or `tests/reference/sources.py` one for its file.
`mark` says how the expected value is known: ``seen`` in the source named, from memory (``mem``),
or calculated from such values (``calc``); several are joined by `` + ``. `confidence` is high
(``H``, also when not given), medium (``M``) or low (``L``); `figures` says how many figures one
case compares, one when not given. A test without any of these compares nothing from outside.
"""

from __future__ import annotations

import importlib
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

FOLDER = Path(__file__).parents[1] / "tests" / "reference"
MARKS = frozenset({"seen", "mem", "calc"})
CONFIDENCES = {"H": "high", "M": "medium", "L": "low"}


@dataclass(frozen=True, slots=True)
class OutsideCheck:
    """One test with outside values.

    Parameters
    ----------
    figures
        Figures compared: cases of the test times figures of one case.
    """

    module: str
    test: str
    subject: str
    source: str
    mark: str
    confidence: str
    figures: int

    @property
    def what(self) -> str:
        """What is checked, from the test's name."""
        return self.test.removeprefix("test_").replace("_", " ")


class UnmarkedTestError(Exception):
    """A test among the outside checks that does not say where its values come from."""


def outside_checks() -> list[OutsideCheck]:
    """Every marked test of the folder, by module and in the order written.

    Raises
    ------
    UnmarkedTestError
        For a mark that does not say what it must.
    """
    return [check_of(module, name) for module, name in _tests() if _marks(module, name)]


def _tests() -> Iterator[tuple[ModuleType, str]]:
    for path in sorted(FOLDER.glob("test_*.py")):
        module = importlib.import_module(f"tests.reference.{path.stem}")
        yield from ((module, n) for n, f in vars(module).items() if _is_test(n, f, module))


def _marks(module: ModuleType, name: str) -> list[pytest.Mark]:
    """Marks that say where a test's values come from: its own first, then its module's, then its file's."""
    from tests.reference.sources import BY_FILE

    shared = getattr(module, "pytestmark", [])
    everywhere = shared if isinstance(shared, list) else [shared]
    marks = [*getattr(getattr(module, name), "pytestmark", []), *everywhere]
    if by_file := BY_FILE.get(module.__name__.rpartition(".")[2]):
        marks.append(by_file)
    return [getattr(m, "mark", m) for m in marks if m.name == "outside"]


def _is_test(name: str, value: object, module: ModuleType) -> bool:
    return name.startswith("test_") and callable(value) and value.__module__ == module.__name__


def check_of(module: ModuleType, name: str) -> OutsideCheck:
    """The check that a test of a module makes.

    Raises
    ------
    UnmarkedTestError
        When it does not say where its values come from.
    """
    where = f"{module.__name__}.{name}"
    own = _marks(module, name)
    if not own:
        raise UnmarkedTestError(f"{where} does not say where its values come from")
    said: dict[str, Any] = dict(own[0].kwargs)
    wrong = [k for k in ("subject", "source", "mark") if not said.get(k)]
    if wrong or not set(said["mark"].split(" + ")) <= MARKS or said.get("confidence", "H") not in CONFIDENCES:
        raise UnmarkedTestError(
            f"{where} must say subject, source, and mark out of {', '.join(sorted(MARKS))}"
        )
    cases = 1
    for mark in getattr(getattr(module, name), "pytestmark", []):
        if mark.name == "parametrize":
            cases *= len(list(mark.args[1]))
    return OutsideCheck(
        module.__name__.rpartition(".")[2],
        name,
        said["subject"],
        said["source"],
        said["mark"],
        said.get("confidence", "H"),
        cases * int(said.get("figures", 1)),
    )


def table(checks: list[OutsideCheck]) -> str:
    """The checks as a page shows them, subject by subject."""
    by_subject: defaultdict[str, list[OutsideCheck]] = defaultdict(list)
    for check in checks:
        by_subject[check.subject].append(check)
    total = sum(c.figures for c in checks)
    sources = len({c.source for c in checks})
    lines = [f"{total} figures in {len(checks)} tests, from {sources} sources.", ""]
    for subject, mine in sorted(by_subject.items()):
        lines += [f"### {subject[:1].upper()}{subject[1:]}", ""]
        lines += ["| what is checked | figures | source | known | confidence | test |"]
        lines += ["|---|---|---|---|---|---|"]
        lines += [
            f"| {c.what} | {c.figures} | {c.source} | {c.mark} | {CONFIDENCES[c.confidence]} | `{c.module}` |"
            for c in mine
        ]
        lines += [""]
    return "\n".join(lines)


@contextmanager
def maker() -> Iterator[Callable[[str], str]]:
    """Makes the parts of the page: ``checks``."""

    def make(name: str) -> str:
        return {"checks": table}[name](outside_checks())

    yield make


if __name__ == "__main__":
    print(table(outside_checks()))

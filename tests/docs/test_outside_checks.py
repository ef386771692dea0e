"""The page of outside checks: made from the marks of the tests; every file must carry some."""

from __future__ import annotations

from types import ModuleType

import pytest

from scripts.outside_checks import FOLDER, UnmarkedTestError, check_of, outside_checks, table
from tests.reference.books import outside
from tests.reference.sources import BY_FILE


def made(mark: pytest.MarkDecorator | None) -> ModuleType:
    """A module with one test, marked or not."""
    module = ModuleType("tests.reference.test_made")

    def test_it_is_so() -> None:
        """Nothing to do."""

    module.test_it_is_so = test_it_is_so if mark is None else mark(test_it_is_so)  # type: ignore[attr-defined]
    return module


def test_every_file_of_the_folder_is_on_the_page() -> None:
    checks = outside_checks()
    assert {c.module for c in checks} == {p.stem for p in FOLDER.glob("test_*.py")}
    assert sum(c.figures for c in checks) > 400
    text = table(checks)
    assert all(f"| {c.what} |" in text for c in checks)
    assert all(c.figures >= 1 for c in checks)


def test_files_with_one_source_exist() -> None:
    assert all((FOLDER / f"{name}.py").exists() for name in BY_FILE)


def test_cases_and_figures_multiply() -> None:
    found = {c.test: c for c in outside_checks()}
    # Eleven currents with three figures each; seven faults in two states.
    assert found["test_volts_and_external_resistance_at_a_current"].figures == 33
    assert found["test_printed_resistor_limits_are_the_four_current_limits"].figures == 4


@pytest.mark.parametrize(
    "mark",
    [
        None,
        outside("", "a standard", "seen"),
        outside("a subject", "", "seen"),
        outside("a subject", "a standard", "guessed"),
        outside("a subject", "a standard", "seen", confidence="X"),
    ],
)
def test_a_test_that_does_not_say_where_it_is_from_is_refused(mark: pytest.MarkDecorator | None) -> None:
    module = made(mark)
    with pytest.raises(UnmarkedTestError, match="test_it_is_so"):
        check_of(module, "test_it_is_so")


def test_a_marked_test_is_taken() -> None:
    check = check_of(made(outside("a subject", "a standard", "seen + calc", figures=3)), "test_it_is_so")
    assert (check.what, check.source, check.figures, check.confidence) == ("it is so", "a standard", 3, "H")

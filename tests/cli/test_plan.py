"""plan: one page to take along, and the same as JSON."""

from __future__ import annotations

from pathlib import Path

import pytest

from backprobe.report.schemas import SCHEMAS
from tests.cli.helpers import SHEET, SKETCH, misfits, put, run, run_json, too_wide

DEAD = "relay K3 dead, key on, bar down, all plugged"


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture
def sheet(tmp_path: Path) -> str:
    return put(tmp_path, "mast.yaml", SHEET)


def test_a_typed_circuit_gives_a_page(sheet: str) -> None:
    result = run("plan", SKETCH, "--when", DEAD)
    assert result.exit_code == 0
    text = flat(result.stdout)
    assert text.startswith("PLAN")
    assert "FOR relay K3 dead, with key on, bar down, all plugged" in text
    assert "1. " in text
    assert "try every guard in every operator state" in text
    assert "Local rules, the maker's instructions and licensed trades come first." in text
    assert not too_wide(result.stdout)


def test_it_does_something_useful_without_options(sheet: str) -> None:
    text = flat(run("plan", sheet).stdout)
    assert "FOR lift dead" in text
    assert "assumed: nobody said what is dead" in text
    assert "Mast down on its rest" in text


def test_json_fits_its_schema_and_agrees_with_the_page(sheet: str) -> None:
    data = run_json("plan", sheet)
    assert not misfits(data, SCHEMAS["plan"])
    text = flat(run("plan", sheet).stdout)
    assert [s["number"] for s in data["steps"]] == list(range(1, len(data["steps"]) + 1))
    for step in data["steps"]:
        assert step["check"]["do"].split(": ")[-1] in text
    led_to = [b["step"] for s in data["steps"] for b in s["branches"] if b["step"] is not None]
    assert sorted(led_to) == list(range(2, len(data["steps"]) + 1))


def test_standard_input_and_limits() -> None:
    data = run_json("plan", "-", "--depth", "2", "--steps", "2", stdin=SHEET)
    assert len(data["steps"]) <= 2


def test_a_line_that_cannot_be_read_is_named(sheet: str) -> None:
    result = run("plan", sheet, "--when", "lift sulks")
    assert result.exit_code == 2
    assert "--when" in result.stderr
    assert "lift sulks" in result.stderr

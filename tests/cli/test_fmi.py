"""Suspects of `backprobe rank` carry what the controller would say of its pins."""

from __future__ import annotations

from pathlib import Path

import pytest

from backprobe.faults.failure_mode import FAILURE_MODES
from tests.circuit.gate import GATE
from tests.cli.helpers import run, run_json

STATE = "key on, gate shut, button pressed, all plugged"


@pytest.fixture
def sheet(tmp_path: Path) -> str:
    """The gate circuit as a file."""
    path = tmp_path / "gate.yaml"
    path.write_text(GATE, encoding="utf-8")
    return str(path)


def options(*lines: str) -> list[str]:
    """The lines as options of the command."""
    return [o for line in lines for o in ("--reading", line)]


def test_a_dead_signal_is_a_low_input(sheet: str) -> None:
    lines = options("tipper dead", "controller.gate input to battery-: 0.00 V", "C2-1 to C2-2: 8.0 V")
    data = run_json("rank", sheet, "--state", STATE, *lines)
    suspects = [s for group in data["groups"] for s in group["suspects"]]
    assert {"pin": "gate input", "number": 4, "words": FAILURE_MODES[4]} in suspects[0]["fmi"]
    text = " ".join(run("rank", sheet, "--state", STATE, *lines).stdout.split())
    assert "gate input: voltage below normal, or shorted to a low source (FMI 4)" in text


def test_an_open_coil_is_an_open_output(sheet: str) -> None:
    lines = options("tipper dead", "coil Y2.1 to coil Y2.2: 12.5 V")
    data = run_json("rank", sheet, "--state", STATE, *lines)
    suspects = {s["name"]: s for group in data["groups"] for s in group["suspects"]}
    found = suspects["coil Y2: winding open"]["fmi"]
    assert [(c["pin"], c["number"]) for c in found] == [("valve output", 5)]


def test_a_fault_that_the_controller_cannot_see_brings_no_identifier(sheet: str) -> None:
    lines = options("tipper dead", "fuse F3.1 to battery-: 12.6 V", "fuse F3.2 to battery-: 0.00 V")
    data = run_json("rank", sheet, "--state", STATE, *lines)
    suspects = {s["name"]: s for group in data["groups"] for s in group["suspects"]}
    assert suspects["fuse F3: blown"]["fmi"] == []

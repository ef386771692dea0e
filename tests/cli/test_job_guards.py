"""Guards on the command line: none in the sheet, one that fails."""

from __future__ import annotations

from pathlib import Path

import pytest

from backprobe.report.schemas import SCHEMAS
from tests.cli.helpers import misfits, run, run_json
from tests.cli.test_job import new
from tests.jobs.test_guard_proof import BARE
from tests.jobs.test_repairs import READ, SHEET


@pytest.fixture(autouse=True)
def own_store(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("BACKPROBE_STORE", str(tmp_path / "jobs.sqlite"))


def at_proof(text: str, tmp_path: Path) -> str:
    path = tmp_path / "mulcher.yaml"
    path.write_text(text, encoding="utf-8")
    name = new(str(path))
    for line in (READ[0], *READ[1:]):
        run("job", "read", line)
    run("job", "repaired", "brake switch: replaced")
    run("job", "read", "relay K1 works")
    return name


def flat(*words: str) -> str:
    return " ".join(run(*words).stdout.replace("! ", "").split())


def test_a_sheet_without_a_guard_is_said_to_have_none(tmp_path: Path) -> None:
    name = at_proof(BARE, tmp_path)
    assert "The sheet names no guard: try by hand what keeps people safe" in flat("job", "show", name)
    closed = flat(
        "job", "close", name, "repaired and tried", "--tried", "1-2", "--by-hand", "brake on a ramp"
    )
    assert "closed: repaired, no guard proven" in closed
    assert "The sheet names no guard" in closed
    shown = flat("job", "show", name)
    assert "repaired and tried" not in shown
    assert "Guards tried" not in shown
    assert "No guard was proven: the sheet names none. Tried by hand besides: brake on a ramp" in shown


def test_a_guard_that_failed_keeps_the_job_open(tmp_path: Path) -> None:
    name = at_proof(SHEET, tmp_path)
    lines = run("job", "show", name).stdout.splitlines()
    place = next(ln.split("[ ]")[0].strip() for ln in lines if "[ ]" in ln and "seat empty" in ln)
    last = max(int(ln.split("[ ]")[0]) for ln in lines if "[ ]" in ln)
    for wrong in ("1", "0", "1-2", ",", "x"):
        assert run("job", "close", name, "--failed", wrong).exit_code == 2
    said = flat("job", "close", name, "--failed", place)
    assert "guard failed: " in said
    assert "Do not hand the machine over" in said
    refused = run("job", "close", name, "repaired and tried", "--tried", f"1-{last}")
    assert refused.exit_code == 2
    assert "says that relay K1 worked with" in refused.stderr
    shown = flat("job", "show", name)
    assert "Do not hand the machine over" in shown
    entry = run_json("job", "show", name)["job"]["entries"][-1]
    assert entry["kind"] == "proof"
    run("job", "undo")
    assert run("job", "close", name, "repaired and tried", "--tried", f"1-{last}").exit_code == 0


def test_a_failure_as_data_fits_its_schema(tmp_path: Path) -> None:
    at_proof(SHEET, tmp_path)
    lines = run("job", "show").stdout.splitlines()
    place = next(ln.split("[ ]")[0].strip() for ln in lines if "[ ]" in ln and "seat empty" in ln)
    data = run_json("job", "close", "--failed", place)
    assert not misfits(data, SCHEMAS["job close"])
    assert data["entry"]["words"].endswith("it worked although it must not")

"""The meter's own faults in a job and on the command line: leads, what to mind, what to take again."""

from __future__ import annotations

from pathlib import Path

import pytest

import backprobe as bp
from backprobe.jobs.store import Store
from backprobe.report.schemas import SCHEMAS
from tests.cli.helpers import ALL, SHEET, misfits, put, run, run_json

COIL = "C3-1 part side to C3-2 part side: 9.5 ohm, key off, C3 unplugged"


def test_a_job_takes_its_leads_off(tmp_path: Path) -> None:
    """9.5 ohm less 0.4 ohm of leads are 9.1 ohm, also after the job was opened again."""
    with Store.open(str(tmp_path / "jobs.db")) as store:
        job = bp.Job.new(store, bp.parse_sheet(SHEET, file="mast.yaml"))
        job.read(f"lift dead, {ALL}")
        job.read(COIL)
        job.read("leads together: 0.4 ohm")
        job.read(COIL)
        again = bp.Job.open(store, job.record.id)
        values = [r.value for r in again.readings() if r.kind == "ohms"]
        assert values == pytest.approx([9.5, 9.1])
        # What was understood with the leads stays so when they are undone; what comes after does not.
        again.undo(4)
        again.read(COIL)
        assert [r.leads for r in again.readings() if r.kind == "ohms"] == [None, 0.4, None]


def test_typed_readings_share_their_leads(tmp_path: Path) -> None:
    sheet = put(tmp_path, "mast.yaml", SHEET)
    lines = [o for line in ("leads together: 0.4 ohm", COIL) for o in ("--reading", line)]
    data = run_json("rank", sheet, "--state", ALL, *lines)
    assert data["readings"][1]["value"] == pytest.approx(9.1)
    assert data["readings"][1]["leads"] == 0.4
    assert misfits(data, SCHEMAS["rank"]) == []


def test_what_to_mind_is_printed_where_it_applies(tmp_path: Path) -> None:
    env = {"BACKPROBE_STORE": str(tmp_path / "jobs.db")}
    run("job", "new", put(tmp_path, "mast.yaml", SHEET), env=env)
    quiet = run("job", "read", f"lift dead, {ALL}", env=env)
    assert "MIND" not in quiet.stdout
    said = run("job", "read", f"C3-1 to frame: 12.3 V, {ALL}", env=env).stdout
    assert "MIND     Black on the frame hides a bad return" in said
    data = run_json("job", "read", "C3-1 to battery-: 12.4 V, C3 unplugged", env=env)
    assert [[a["kind"] for a in of_one] for of_one in data["mind"]] == [["load"]]
    assert misfits(data, SCHEMAS["job read"]) == []


def test_predict_says_what_to_mind(tmp_path: Path) -> None:
    sheet = put(tmp_path, "mast.yaml", SHEET)
    assert "MIND" not in run("predict", sheet, "--at", "C1-1").stdout
    said = run("predict", sheet, "--at", "C1-1", "--black", "frame").stdout
    assert "MIND" in said
    data = run_json("predict", sheet, "--unplugged", "C3", "--at", "C3-1")
    assert [a["kind"] for a in data["mind"]] == ["load"]
    assert misfits(data, SCHEMAS["predict"]) == []


def test_a_slip_is_printed_with_its_kinds(tmp_path: Path) -> None:
    """12.4 V were said to be at C1-2, the ground's cavity; they are at C1-1, the supply's."""
    sheet = put(tmp_path, "mast.yaml", SHEET)
    lines = ("battery+ to battery-: 12.5 V", "C1-1 to battery-: 12.4 V", "C3-1 to battery-: 12.3 V")
    good = ("C2-1 to battery-: 5.00 V", "C2-2 to battery-: 5.00 V", "lift works", "C1-2 to battery-: 12.4 V")
    options = [o for line in (*lines, *good) for o in ("--reading", line)]
    data = run_json("rank", sheet, "--state", ALL, *options)
    [doubt] = data["take_again"]
    assert data["readings"][doubt["reading"]]["red"] == "C1-2"
    assert doubt["slips"][0]["kind"] == "cavity"
    assert doubt["slips"][0]["where"] == "red on C1-1"
    assert misfits(data, SCHEMAS["rank"]) == []
    text = " ".join(run("rank", sheet, "--state", ALL, *options).stdout.split())
    assert "Take again: C1-2 to battery-: 12.4 V" in text
    assert "red on C1-1: would show 12.4 V. Put the lead where it belongs" in text

"""The demo command: live, complete, on 80 columns, and kept only where it is told to."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from backprobe.cli.main import app
from backprobe.demo.story import NAMES, demo_jobs
from backprobe.jobs.store import Store
from backprobe.report.schemas import SCHEMAS
from backprobe.sheet.reader import parse_sheet
from tests.cli.helpers import misfits


@cache
def shown() -> Result:
    return CliRunner().invoke(app, ["demo"], env={"BACKPROBE_STORE": "/nowhere/at/all"})


def test_the_demo_shows_every_job_and_writes_nowhere() -> None:
    result = shown()
    assert result.exit_code == 0, result.output
    text = " ".join(result.stdout.split())
    for story in demo_jobs():
        assert story.title in text
        for step in story.steps:
            assert " ".join(step.line.split()) in text
        assert f"It was {story.acted.fault}" in text


def test_the_demo_names_the_odd_reading_what_is_alike_and_the_repair() -> None:
    text = " ".join(shown().stdout.split())
    assert "take again reading 4 (C8-1 to frame: 5.48 V)" in text
    assert "Alike after reading" in text
    assert "Splits it Look at" in text
    assert "Repair" in text


def test_the_demo_fits_a_terminal_of_80_columns() -> None:
    assert [line for line in shown().stdout.splitlines() if len(line) > 80] == []


def test_the_demo_ends_with_what_to_try_next() -> None:
    end = shown().stdout[shown().stdout.index("Try next") :]
    commands = [line.strip() for line in end.splitlines() if line.startswith("  backprobe ")]
    assert {c.split()[1] for c in commands} == {"sketch", "rank", "next", "demo", "sheet", "job"}
    sketched = CliRunner().invoke(app, ["sketch", commands[0].split('"')[1]])
    assert sketched.exit_code == 0, sketched.output


def test_the_demo_keeps_its_jobs_where_it_is_told(tmp_path: Path) -> None:
    place = tmp_path / "demo.db"
    result = CliRunner().invoke(app, ["demo", "--json", "--store", str(place)])
    assert result.exit_code == 0, result.output
    data = json.loads(result.stdout)
    assert not misfits(data, SCHEMAS["demo"])
    jobs = data["jobs"]
    with Store.open(place) as store:
        kept = {line.id: line for line in store.jobs()}
    assert set(kept) == {job["job"] for job in jobs}
    assert [job["name"] for job in jobs] == list(NAMES)
    for job in jobs:
        assert kept[job["job"]].readings == len(job["steps"])
        assert job["steps"][0]["answer"]["groups"]


@pytest.mark.parametrize("name", NAMES)
def test_the_demo_prints_a_sheet_that_can_be_used(name: str) -> None:
    result = CliRunner().invoke(app, ["demo", "--sheet", name])
    assert result.exit_code == 0
    assert parse_sheet(result.stdout).name


def test_an_unknown_machine_is_answered_with_the_known_ones() -> None:
    result = CliRunner().invoke(app, ["demo", "--sheet", "tractor"])
    assert result.exit_code == 2
    assert "sprayer, dumper, platform" in result.output

"""Every template is a good sheet: guarded, drawn, planned, honest in its numbers, and finds what is wrong."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from math import isfinite
from pathlib import Path
from xml.etree import ElementTree

import pytest

import backprobe as bp
from backprobe.diagnosis.plan import Step
from backprobe.diagnosis.states import States, try_states
from backprobe.report.assumed import values_of
from backprobe.report.check_words import do_words
from backprobe.report.schemas import SCHEMAS
from backprobe.report.sheet_words import oddities
from backprobe.report.template_words import unknown_text
from tests.cli.helpers import misfits, run, run_json, too_wide
from tests.sheet.template_cases import CASES, Case

NAMES = tuple(t.name for t in bp.templates())
UNASKED = {"bus-pair"}
"""Circuits that release nothing by themselves."""
SIGNS = {"PTO", "NPN", "PNP", "IEC", "AC", "NC", "NO", "OL"}
DESIGNATION = re.compile(r"(?:[CX]\d(?:-\d)?|[A-Z]\d|K1)")
SAFE = re.compile(r"blocked|lowered|at rest|parked|on stands", re.IGNORECASE)


@cache
def engine(name: str) -> bp.Engine:
    return bp.Engine(bp.template(name).sheet())


@cache
def states(name: str) -> States:
    return try_states(engine(name))


BUILDS = [
    (name, build.choices[0][1], float(build.choices[0][1].removesuffix(" V")))
    for name in NAMES
    for build in bp.template(name).sheet().builds
]


def test_there_is_one_for_each_usual_circuit() -> None:
    assert len(NAMES) >= 12
    assert {c.template for c in CASES} == set(NAMES)
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", name) for name in NAMES)
    assert all(t.about for t in bp.templates())


@pytest.mark.parametrize("name", NAMES)
def test_it_reads_without_a_problem_and_nothing_in_it_looks_odd(name: str) -> None:
    assert oddities(engine(name).sheet, states(name)) == []
    assert states(name).complete
    assert bp.sanity(engine(name).sheet) == ()


@pytest.mark.parametrize("name", NAMES)
def test_functions_work_somewhere_and_never_without_their_guard(name: str) -> None:
    found = states(name)
    assert not found.unguarded
    assert all(found.works.values())
    assert bool(found.works) == (name not in UNASKED)
    sheet = engine(name).sheet
    for function in sheet.functions.values():
        only_lamps = all(sheet.parts[load].kind == "lamp" for load in function.loads)
        assert function.guard or only_lamps, f"{function.name} has no guard"


@pytest.mark.parametrize(("name", "volts"), [(n, v) for n, v, _ in BUILDS])
def test_every_build_is_guarded(name: str, volts: str) -> None:
    build = next(b for b in engine(name).sheet.builds if b.choices[0][1] == volts)
    found = try_states(bp.Engine(build.sheet))
    assert not found.unguarded
    assert all(found.works.values())


@pytest.mark.parametrize("name", NAMES)
def test_the_whole_of_it_is_drawn(name: str) -> None:
    sheet = engine(name).sheet
    root = ElementTree.fromstring(bp.draw(sheet))
    drawn = {e.get("data-part") for e in root.iter() if (e.get("class") or "").split()[:1] == ["part"]}
    assert drawn - set(sheet.bodies) == set(sheet.parts)


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_a_plan_has_checks_and_ends(name: str) -> None:
    # Of the likeliest build: that a plan covers all of them is tested with the builds.
    plan = bp.plan(replace(engine(name).sheet, builds=()), depth=3, steps=4)
    assert len(plan.steps) > 1
    assert isfinite(plan.minutes)
    assert 0 < plan.check_minutes < plan.minutes < plan.without


@pytest.mark.parametrize("name", NAMES)
def test_no_number_claims_to_be_known(name: str) -> None:
    for build in engine(name).sheet.builds or (None,):
        for value in values_of(build.sheet if build else engine(name).sheet):
            assert value.origin.kind in {"assumed", "default"}
            assert value.origin.note
            assert not value.origin.note.startswith("as written"), value
            assert value.low < value.high or not value.high


@pytest.mark.parametrize("name", NAMES)
def test_it_says_what_to_be_careful_of_and_what_to_fill_in_first(name: str) -> None:
    sheet = engine(name).sheet
    assert any(SAFE.search(caution) for caution in sheet.cautions)
    assert sheet.notes[0].startswith("Fill in first: ")
    assert sheet.name.endswith(", wiring not known")


@pytest.mark.parametrize("name", NAMES)
def test_no_make_and_no_model_is_named(name: str) -> None:
    # A proper name is a word with a capital that does not begin a sentence; a model has letters and digits.
    begins = r"(?:^|[.:;#\"?] *|- *)[A-Z][a-z-]+\b"
    text = re.sub(begins, " ", bp.template(name).text, flags=re.MULTILINE)
    words = set(re.findall(r"\b\w*[A-Z]\w*(?:-\d)?\b", text)) - SIGNS
    strange = {w for w in words if not DESIGNATION.fullmatch(w) and w not in {"V", "A", "W", "mA"}}
    assert not strange
    assert not re.search(r"\b[a-z]+\d{2,}\b", text)


@pytest.mark.slow
@pytest.mark.parametrize("case", CASES, ids=lambda c: c.template)
def test_the_right_suspect_leads(case: Case) -> None:
    answer = bp.rank(engine(case.template), case.readings)
    assert answer.suspects[0].name.startswith(case.suspect)
    assert answer.none_of_these < answer.groups[0].probability


@pytest.mark.slow
@pytest.mark.parametrize(("name", "choice", "volts"), BUILDS)
def test_one_reading_of_the_feed_settles_the_build(name: str, choice: str, volts: float) -> None:
    sheet = engine(name).sheet
    rest = ", ".join(
        f"{c.name} {'on' if c.name == 'key' else c.positions[0]}" for c in sheet.controls.values()
    )
    answer = bp.rank(engine(name), f"C2-1 to battery-: {volts:.2f} V, {rest}, all plugged")
    assert answer.builds[0].choices[0][1] == choice
    assert answer.builds[0].probability > 0.95


def test_names_may_be_spoken_and_a_wrong_one_is_answered_with_the_nearest() -> None:
    assert bp.template(" Start chain ").name == "start-chain"
    with pytest.raises(bp.SheetError, match="Did you mean 'start-chain'"):
        bp.template("start-chian")


def test_a_name_is_written_so_that_it_reads_back() -> None:
    named = bp.template("safety-chain").named('Mower: "M4" # chain')
    assert named.sheet().name == 'Mower: "M4" # chain'
    assert len(named.text.splitlines()) == len(bp.template("safety-chain").text.splitlines())


def test_the_command_lists_them() -> None:
    result = run("sheet", "new")
    assert result.exit_code == 0
    assert set(NAMES) <= set(result.stdout.splitlines())
    assert not too_wide(result.stdout)
    data = run_json("sheet", "new")
    assert not misfits(data, SCHEMAS["sheet new"])
    assert [t["name"] for t in data["templates"]] == list(NAMES)


def test_the_command_writes_a_new_file_and_says_what_to_read_first(tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    result = run("sheet", "new", "--from", "safety chain", str(file))
    assert result.exit_code == 0
    assert file.read_text(encoding="utf-8") == bp.template("safety-chain").text
    words = " ".join(result.stdout.split())
    assert f"written to {file}" in words
    first = bp.plan(bp.load_sheet(str(file))).first
    assert isinstance(first, Step)
    assert do_words(first.check) in words
    assert "CAUTION Attachment on the ground" in words
    assert "coil Y1: its own resistance when cold?" in words
    assert f"backprobe job new {file}" in result.stdout
    assert run("sheet", "check", str(file)).exit_code == 0


def test_the_command_never_writes_over_a_file(tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    file.write_text("mine", encoding="utf-8")
    again = run("sheet", "new", "--from", "safety-chain", str(file))
    assert again.exit_code == 2
    assert "exists already, and is left as it is" in again.stderr
    assert file.read_text(encoding="utf-8") == "mine"
    assert run("sheet", "new", "--from", "safety-chain", str(tmp_path / "no" / "x.yaml")).exit_code == 2


def test_the_command_names_the_file_after_the_template(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    data = run_json("sheet", "new", "--from", "blade-clutch", "--name", "Mower M4, blade clutch")
    assert not misfits(data, SCHEMAS["sheet new"])
    assert data["written"] == "blade-clutch.yaml"
    assert data["first"]["cautions"]
    assert bp.load_sheet(tmp_path / "blade-clutch.yaml").name == data["sheet"] == "Mower M4, blade clutch"


def test_the_command_writes_to_standard_output() -> None:
    assert run("sheet", "new", "--from", "bus-pair", "-").stdout == bp.template("bus-pair").text
    assert run("sheet", "new", "--from", "bus-pair", "-", "--json").exit_code == 2


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--from", "seat-switch"), "is not a template"),
        (("x.yaml",), "has no template to begin with"),
        (("--name", "Loader"), "has no template to begin with"),
    ],
)
def test_wrong_use_is_one_clear_message(args: tuple[str, ...], said: str) -> None:
    result = run("sheet", "new", *args)
    assert result.exit_code == 2
    assert said in result.stderr


def test_names_of_files_are_quoted_where_they_are_to_be_typed() -> None:
    text = unknown_text(engine("safety-chain").sheet, "my sheet.yaml")
    assert "backprobe plan 'my sheet.yaml'" in text
    assert "--svg 'my sheet.svg'" in text

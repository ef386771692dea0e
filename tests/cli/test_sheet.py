"""sketch and the sheet commands."""

from __future__ import annotations

from pathlib import Path

import pytest

import backprobe as bp
from backprobe.report.schemas import SCHEMAS
from backprobe.sheet.document import Mapping, Scalar, Sequence, read_document
from backprobe.sheet.kinds import registry
from tests.cli.helpers import SHEET, SKETCH, misfits, put, run, run_json, too_wide


def plain(node: object) -> object:
    """A sheet document as JSON values."""
    if isinstance(node, Mapping):
        return {k.text: plain(v) for k, v in node.entries}
    if isinstance(node, Sequence):
        return [plain(i) for i in node.items]
    assert isinstance(node, Scalar)
    return node.text


def test_check_counts_a_good_sheet(tmp_path: Path) -> None:
    file = put(tmp_path, "mast.yaml", SHEET)
    sheet = bp.load_sheet(file)
    result = run("sheet", "check", file)
    assert result.exit_code == 0
    text = " ".join(result.stdout.split())
    assert f"mast.yaml: good, {len(sheet.parts)} parts," in text
    assert "1 measured" in text
    data = run_json("sheet", "check", file)
    assert not misfits(data, SCHEMAS["sheet check"])
    assert data["files"][0]["origins"]["measured"] == 1


def test_check_reports_all_problems_of_all_files(tmp_path: Path) -> None:
    good = put(tmp_path, "good.yaml", SHEET)
    bad = put(
        tmp_path, "bad.yaml", SHEET.replace("9.1 ohm", "9.1 V").replace("gate is shut}", "gate is locked}")
    )
    result = run("sheet", "check", good, bad)
    assert result.exit_code == 1
    assert "good.yaml: good" in " ".join(result.stdout.split())
    assert "bad.yaml:" in result.stderr.replace("\n", "")
    data = run_json("sheet", "check", good, bad)
    assert not misfits(data, SCHEMAS["sheet check"])
    assert [f["good"] for f in data["files"]] == [True, False]
    assert data["files"][1]["problems"][0]["line"] > 0
    assert run("sheet", "check", good, str(tmp_path / "missing.yaml"), bad).exit_code == 2


def test_check_reads_standard_input() -> None:
    assert run("sheet", "check", "-", stdin=SHEET).stdout.startswith("standard input: good")
    assert run("sheet", "check", "-", stdin="sheet: nothing").exit_code == 1


def test_check_says_when_a_function_works_without_its_guard(tmp_path: Path) -> None:
    # The guard names the seat, and the run goes past it: the coil is fed with the seat empty.
    text = (
        "sheet: Invented, a guard that guards nothing\ncontrols: {key: [off, on], seat: [empty, seated]}\n"
        "runs: {one: [battery+, key switch, coil Y1 8 ohm, frame]}\n"
        "functions: {drive: {loads: coil Y1, guard: seat is seated}}\n"
    )
    result = run("sheet", "check", put(tmp_path, "x.yaml", text))
    assert "drive works without its guard (seat is seated) with key on, seat empty" in " ".join(
        result.stdout.split()
    )


def test_check_says_when_a_function_never_works(tmp_path: Path) -> None:
    text = SHEET.replace("3.5..5.5 V: shut", "8..9 V: shut")
    result = run("sheet", "check", put(tmp_path, "x.yaml", text))
    assert "lift works in no operator state" in " ".join(result.stdout.split())


def test_show_draws_every_run_from_source_to_return(tmp_path: Path) -> None:
    file = put(tmp_path, "mast.yaml", SHEET)
    text = run("sheet", "show", file).stdout
    run_lines = text.split("\nvalve\n")[1].split("\n\n")[0].splitlines()
    things = [line[6:].strip() for line in run_lines if not line.lstrip().startswith("|")]
    assert things == ["controller.lift output", "C3-1", "coil Y2 9.1 ohm", "C3-2", "ring G2", "frame"]
    assert "volts 5.00 V (4.90 to 5.10 V), measured: on 2026-05-11" in text
    assert "guard: gate is shut" in text
    assert "works with key on, gate shut, lever raise, all plugged" in text
    assert "CAUTION  Mast down on its rest" in text
    assert "CAUTION  Keep clear of the mast chain." in text
    assert not too_wide(text)
    data = run_json("sheet", "show", file)
    assert not misfits(data, SCHEMAS["sheet show"])
    assert data["functions"][0]["works_with"]["state"]["gate"] == "shut"


def test_sketch_prints_a_sheet_that_reads_back(tmp_path: Path) -> None:
    result = run("sketch", SKETCH, "--name", "Lift bar, typed", "--system", "24 V")
    assert result.exit_code == 0
    sheet = bp.parse_sheet(result.stdout)
    assert (sheet.name, sheet.system_volts) == ("Lift bar, typed", 24.0)
    assert sheet.parts["relay K3"].values["coil"].nominal == 92.0
    assert "# Assumed, because it was not typed:" in result.stdout
    assert 'rank my-sheet.yaml --reading "relay K3 dead, key on, bar down, all plugged"' in result.stdout
    assert not too_wide(result.stdout)
    assert not misfits(run_json("sketch", SKETCH), SCHEMAS["sketch"])


def test_sketch_writes_a_new_file_and_never_over_one(tmp_path: Path) -> None:
    file = tmp_path / "bar.yaml"
    assert run("sketch", "-", "--write", str(file), stdin=SKETCH).exit_code == 0
    before = file.read_text(encoding="utf-8")
    assert run("sheet", "check", str(file)).exit_code == 0
    again = run("sketch", "battery+ > coil Y1 > frame", "--write", str(file))
    assert again.exit_code == 2
    assert "exists already" in again.stderr
    assert file.read_text(encoding="utf-8") == before
    assert run("sketch", SKETCH, "--write", str(tmp_path / "no" / "folder.yaml")).exit_code == 2


@pytest.mark.parametrize(
    "text", ["", "nonsense", "battery+ >", "battery+ > flux 9 > frame", "> > >", "a" * 9000]
)
def test_sketch_refuses_what_is_no_circuit(text: str) -> None:
    result = run("sketch", text)
    assert result.exit_code == 2
    assert result.stderr.strip()


def test_the_sheet_schema_knows_every_kind_and_takes_good_sheets() -> None:
    schema = run_json("sheet", "schema")
    hidden = {"contact", "connector"}
    assert set(registry().by_name) - hidden <= set(schema["$defs"])
    for name, kind in registry().by_name.items():
        if name not in hidden:
            fields = set(schema["$defs"][name]["properties"])
            warm = {"temperature"} if any(f.copper for f in kind.fields) else set()
            assert fields == {"kind", "minutes", "caution", *warm, *(f.name for f in kind.fields)}
    document = plain(read_document(SHEET, file="x"))
    assert isinstance(document, dict)
    assert set(document) <= set(schema["properties"])
    assert schema["required"] == ["sheet", "runs"]
    pins = schema["$defs"]["controller"]["patternProperties"]
    assert {p["$ref"] for p in pins.values()} == {
        f"#/$defs/{r} pin" for r in ("battery", "ground", "feed", "input", "output")
    }
    for reference in _references(schema):
        assert reference.removeprefix("#/$defs/") in schema["$defs"]


def _references(schema: object) -> list[str]:
    if isinstance(schema, dict):
        own = [schema["$ref"]] if "$ref" in schema else []
        return own + [r for v in schema.values() for r in _references(v)]
    return [r for v in schema for r in _references(v)] if isinstance(schema, list) else []

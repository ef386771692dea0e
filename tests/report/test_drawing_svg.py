"""The drawing as a file: plain attributes, names to find parts and points by, marks, and the command."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

import backprobe as bp
from backprobe.readings.points import reachable_points
from backprobe.report.drawing.colours import PAINT, paints
from backprobe.sheet.lexicon import COLOURS
from tests.cli.helpers import SHEET, put, run, run_json

PLAIN = {"svg", "title", "desc", "g", "line", "circle", "rect", "path", "text"}
SVG = "{http://www.w3.org/2000/svg}"


def elements(drawing: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(drawing).iter())


def texts_of(element: ElementTree.Element, role: str) -> list[ElementTree.Element]:
    return [t for t in element.iter(f"{SVG}text") if t.get("class") == role]


@pytest.fixture(name="sheet")
def _sheet() -> bp.Sheet:
    return bp.parse_sheet(SHEET, file="mast.yaml")


def test_parts_and_points_are_named(sheet: bp.Sheet) -> None:
    found = elements(bp.draw(sheet))
    parts = [e for e in found if (e.get("class") or "").split()[:1] == ["part"]]
    assert {e.get("data-part") for e in parts} == set(sheet.parts)
    assert all(e[0].tag == f"{SVG}title" and e[0].text for e in parts)
    ids = [e.get("id") for e in found if e.get("id")]
    assert len(ids) == len(set(ids))
    points = [e for e in found if e.get("data-point")]
    assert {e.get("data-point") for e in points} == {p.name for p in reachable_points(sheet)}
    # WCAG 2.2, 2.5.5 asks 44 across for a target [mem]; gloves get 48.
    assert all(float(e.get("r", 0)) >= 24 for e in points)


def test_the_root_names_itself_and_can_be_scaled(sheet: bp.Sheet) -> None:
    root = ElementTree.fromstring(bp.draw(sheet))
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title") is not None
    assert root.find(f"{SVG}desc") is not None
    assert root.get("viewBox") == f"0 0 {root.get('width')} {root.get('height')}"


def test_a_strict_content_policy_lets_it_be(sheet: bp.Sheet) -> None:
    drawing = bp.draw(sheet, suspects=["coil Y2"], leads=("C3-1", "frame"))
    for e in elements(drawing):
        assert e.tag.removeprefix(SVG) in {
            "svg",
            "title",
            "desc",
            "g",
            "line",
            "circle",
            "rect",
            "path",
            "text",
        }
        assert "style" not in e.attrib
        assert not any("http" in v or name.startswith("on") for name, v in e.attrib.items())
        if e.tag == f"{SVG}text":
            assert float(e.get("font-size", 0)) >= 11


def test_a_wire_has_its_colour_and_its_letters(sheet: bp.Sheet) -> None:
    wire = next(e for e in elements(bp.draw(sheet)) if e.get("data-part") == "wire C1-2 to ring G1")
    assert "BK 1.1 m" in [e.text for e in wire.iter(f"{SVG}text")]
    lines = [e for e in wire.iter(f"{SVG}line")]
    assert [e.get("class") for e in lines] == ["casing", "paint"]
    # The casing takes the page's text colour and is wider: black shows on dark, white on light.
    assert float(lines[0].get("stroke-width", 0)) > float(lines[1].get("stroke-width", 0)) + 2
    assert lines[0].get("stroke") is None
    assert lines[1].get("stroke") == PAINT["BK"]


def test_every_colour_code_has_a_paint() -> None:
    assert set(PAINT) == COLOURS
    assert paints("GN/YE") == paints("GNYE") == (PAINT["GN"], PAINT["YE"])
    assert paints("") == ()


def test_suspects_are_numbered_and_heavier(sheet: bp.Sheet) -> None:
    plain = bp.draw(sheet)
    marked = bp.draw(sheet, suspects=["ring G2: off or broken", "fuse F1", "C2: bridged"])
    assert 'class="badge"' not in plain
    by_part = {e.get("data-part"): e for e in elements(marked) if "suspect" in (e.get("class") or "")}
    assert set(by_part) == {"ring G2", "fuse F1", "C2-1", "C2-2"}
    badges = {p: [t.text for t in texts_of(e, "badge")] for p, e in by_part.items()}
    assert badges == {"ring G2": ["1"], "fuse F1": ["2"], "C2-1": ["3"], "C2-2": ["3"]}
    shapes = [g for e in by_part.values() for g in e if g.tag == f"{SVG}g"]
    widths = [float(g.get("stroke-width", 0)) for g in shapes]
    assert min(widths) >= 3


def test_a_wire_that_is_suspect_is_heavier_too(sheet: bp.Sheet) -> None:
    def casing(drawing: str) -> float:
        wire = next(e for e in elements(drawing) if e.get("data-part") == "wire C1-2 to ring G1")
        return next(
            float(e.get("stroke-width", 0)) for e in wire.iter(f"{SVG}line") if e.get("class") == "casing"
        )

    assert casing(bp.draw(sheet, suspects=["wire C1-2 to ring G1: broken"])) > casing(bp.draw(sheet)) + 2


def test_leads_have_letters_and_stand_at_their_points(sheet: bp.Sheet) -> None:
    found = elements(bp.draw(sheet, leads=("C3-1", "battery-")))
    tips = {e.get("class"): e for e in found if (e.get("class") or "").startswith("lead")}
    assert {name: e[-1].text for name, e in tips.items()} == {"lead red": "R", "lead black": "B"}
    spots = {e.get("data-point"): e for e in found if e.get("data-point")}
    for name, point in (("lead red", "C3-1"), ("lead black", "battery-")):
        line = next(tips[name].iter(f"{SVG}line"))
        assert (line.get("x2"), line.get("y2")) == (spots[point].get("cx"), spots[point].get("cy"))


def test_volts_stand_beside_their_points(sheet: bp.Sheet) -> None:
    texts = [e.text for e in elements(bp.draw(sheet, volts={"C3-1": "12.4 V / 0.1 V", "frame": "0 V / 3 V"}))]
    assert "12.4 V / 0.1 V" in texts
    assert "frame  0 V / 3 V" in texts


def test_a_pulled_plug_is_two_points(sheet: bp.Sheet) -> None:
    names = {e.get("data-point") for e in elements(bp.draw(sheet, unplugged=["C3"]))}
    assert {"C3-1 machine side", "C3-1 part side"} <= names
    assert "C3-1" not in names


def test_relay_halves_name_each_other() -> None:
    sheet = bp.sketch(
        "battery+ > fuse F1 5 A > relay coil K1 90 ohm > frame\nbattery+ > relay contact K1 > lamp H1 > frame"
    )
    texts = [e.text for e in elements(bp.draw(sheet))]
    assert "contact in path 2" in texts
    assert "coil in path 1" in texts
    # Terminal numbers of DIN 72552 [mem]: coil 86 and 85, working contact 30 and 87.
    assert {"85", "86", "30", "87"} <= set(texts)


def test_names_with_signs_of_markup_are_written_out() -> None:
    text = SHEET.replace("Orchard mast lift, gate circuit", "'Mast <b> & \"lift\"'").replace(
        "gate switch", "g&<te switch"
    )
    root = ElementTree.fromstring(bp.draw(bp.parse_sheet(text)))
    title = root.find(f"{SVG}title")
    assert title is not None
    assert title.text == 'Mast <b> & "lift"'


def test_unknown_names_are_refused_together(sheet: bp.Sheet) -> None:
    with pytest.raises(bp.ReadingError) as caught:
        bp.draw(
            sheet, suspects=["fuse F9"], volts={"C9-9": "1 V"}, leads=("C3-1", "nowhere"), unplugged=["C8"]
        )
    fields = [p.field for p in caught.value.problems]
    assert sorted(fields) == ["leads", "suspects", "unplugged", "volts"]
    assert all(p.remedy for p in caught.value.problems)


def test_the_command_writes_a_new_file(tmp_path: Path) -> None:
    source, file = put(tmp_path, "mast.yaml", SHEET), tmp_path / "mast.svg"
    result = run("sheet", "show", source, "--svg", str(file))
    assert result.exit_code == 0
    assert result.stdout.startswith("Orchard mast lift, gate circuit: drawing written to ")
    assert file.read_text(encoding="utf-8") == bp.draw(bp.load_sheet(source))
    again = run("sheet", "show", source, "--svg", str(file))
    assert again.exit_code == 2
    assert "exists already" in again.stderr
    assert run("sheet", "show", source, "--svg", str(tmp_path / "no" / "x.svg")).exit_code == 2


def test_the_command_writes_to_standard_output(tmp_path: Path) -> None:
    source = put(tmp_path, "mast.yaml", SHEET)
    drawing = run("sheet", "show", source, "--svg", "-").stdout
    assert drawing == bp.draw(bp.load_sheet(source))
    both = run("sheet", "show", source, "--svg", "-", "--json")
    assert both.exit_code == 2
    assert "--svg" in both.stderr
    data = run_json("sheet", "show", source, "--svg", str(tmp_path / "a.svg"))
    assert re.search("Orchard", str(data))
    assert (tmp_path / "a.svg").exists()

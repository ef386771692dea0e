"""Every sheet that is shipped or stands in the tests is drawn apart, whole and joined as it is written."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
import yaml

import backprobe as bp
from backprobe.readings.points import reachable_points
from backprobe.report.drawing.build import build_scene
from backprobe.report.drawing.options import Marks, read_marks
from backprobe.report.drawing.scene import Scene, Segment
from tests.report.drawing_checks import check, drawn_nets, overlaps, wires_that_meet_wrongly, written_nets
from tests.report.drawing_sheets import ODD, random_sheet
from tests.sheet.tiny_sheets import RUNS, text_of

ROOT = Path(__file__).parents[2]
SHIPPED = sorted(p for p in (ROOT / "src").rglob("*.yaml") if "\nruns:" in p.read_text(encoding="utf-8"))
FIELD = sorted((ROOT / "tests" / "field").glob("*.yaml"))
DEMO = {p.stem: p for p in SHIPPED if p.parent.name == "fleet"}

CROWDED = """sheet: Invented lift, sensors and a pot on one controller
system: 24 V
runs:
  power: [battery+, fuse F1 15 A, key switch, C1-1, controller.battery]
  guard: [key switch, wire 2 m 0.75 mm2 BN, C8-1, step switch, C8-2, C1-7, controller.step input]
  ground: [controller.ground, C1-2, wire 0.8 m 2.5 mm2 BK, ring G1, frame, strap, battery-]
  feed: [controller.feed, C2-1, splice S1, wire 1.2 m 0.75 mm2 OG, C5-1, gate sensor.supply]
  feed 2: [splice S1, wire 2.2 m 0.75 mm2 OG, C6-1, arm sensor.supply]
  feed 3: [splice S1, C7-1, lever pot.1]
  wiper: [lever pot.wiper, C7-2, wire 1.5 m 0.75 mm2 PK, C2-7, controller.lever input]
  pot ground: [lever pot.3, C7-3, splice S2]
  signal: [gate sensor.output, C5-3, wire 1.2 m 0.75 mm2 GN, C2-3, controller.gate input]
  signal 2: [arm sensor.output, C6-3, C2-4, controller.arm input]
  return: [gate sensor.ground, C5-2, splice S2, C2-2, controller.sensor ground]
  return 2: [arm sensor.ground, C6-2, splice S2]
  valve: [controller.raise output, C3-1, coil Y1 33 ohm, splice S3, ring G2, frame]
  valve 2: [controller.lower output, C3-2, coil Y2 33 ohm, splice S3]
  low: [key switch, relay coil K1 300 ohm, C3-3, controller.enable output]
  horn: [battery+, fuse F2 10 A, relay contact K1, lamp H1 21 W, frame]
  rest: [K1.87a, lamp H2 5 W, frame]
  back: [frame, diode V1, K1.86]
  heavy: [battery+, battery cable, coil M1 0.7 ohm, engine strap, battery-]
parts:
  gate sensor: {kind: ratiometric sensor}
  arm sensor: {kind: ratiometric sensor}
  lever pot: {kind: potentiometer}
  controller:
    enable output: {side: low}
"""


def scene_of(sheet: bp.Sheet) -> Scene:
    return build_scene(sheet, Marks())


@pytest.mark.parametrize("path", SHIPPED, ids=[p.stem for p in SHIPPED])
def test_shipped_sheets(path: Path) -> None:
    sheet = bp.load_sheet(path)
    check(sheet, scene_of(sheet))


@pytest.mark.parametrize("path", FIELD, ids=[p.stem for p in FIELD])
def test_sheets_of_field_cases(path: Path) -> None:
    sheet = bp.parse_sheet(yaml.safe_load(path.read_text(encoding="utf-8"))["sheet"], file=path.name)
    check(sheet, scene_of(sheet))


@pytest.mark.parametrize("kind", sorted(RUNS))
def test_every_kind_of_part(kind: str) -> None:
    sheet = bp.parse_sheet(text_of(kind), file=kind)
    check(sheet, scene_of(sheet))


@pytest.mark.parametrize("name", sorted(ODD))
def test_odd_sheets(name: str) -> None:
    sheet = bp.parse_sheet(f"sheet: {name}\n{ODD[name]}", file=name)
    check(sheet, scene_of(sheet))


@pytest.mark.parametrize("seed", range(40))
def test_sheets_made_by_chance(seed: int) -> None:
    try:
        sheet = bp.parse_sheet(random_sheet(seed, 2 + seed % 7), file="made by chance")
    except bp.SheetError as error:
        # A controller that chance left without a way to the battery's negative side is refused.
        assert "floating ground" in str(error)
        return
    check(sheet, scene_of(sheet))


def test_few_sheets_made_by_chance_are_refused() -> None:
    refused = 0
    for seed in range(40):
        try:
            bp.parse_sheet(random_sheet(seed, 2 + seed % 7), file="made by chance")
        except bp.SheetError:
            refused += 1
    assert refused <= 4


@pytest.mark.parametrize("name", sorted(DEMO))
def test_marks_find_room_too(name: str) -> None:
    crowd(bp.load_sheet(DEMO[name]))


def test_marks_find_room_on_a_crowded_sheet() -> None:
    crowd(bp.parse_sheet(CROWDED, file="crowded"))


def crowd(sheet: bp.Sheet) -> None:
    """Volts at every point, every part a suspect, leads at each pair of neighbours, all plugs off or on."""
    for unplugged in ((), tuple(sheet.connectors)):
        points = [p.name for p in reachable_points(sheet, unplugged)]
        step = max(1, len(points) // 8)
        volts = {p: "12.3 V / 0.07 V" for p in points}
        for red, black in [*pairwise(points), (points[3], points[3])][::step]:
            marks = read_marks(sheet, tuple(sheet.parts), volts, (red, black), unplugged)
            scene = build_scene(sheet, marks)
            assert overlaps(scene) == []
            assert len(scene.tips) == 2
        shown = [label.text for label in scene.all_labels() if "12.3 V / 0.07 V" in label.text]
        assert len(shown) == len({p.terminal for p in reachable_points(sheet, unplugged)})
        assert {s.name for s in scene.spots} == set(points)
        check(sheet, scene)


def test_crossings_and_rows_read_downwards() -> None:
    # From the sheet as it is written: the fuse is before the switch, the coil before its ring.
    scene = scene_of(bp.load_sheet(DEMO["sprayer"]))
    top = {s.part: s.box.top for s in scene.symbols}
    assert top["fuse F4"] < top["key switch"] < top["controller"] < top["coil Y1"] < top["ring G2"]
    assert top["controller"] < top["gate sensor"]
    assert top["ring G1"] < top["strap"]


def test_the_checks_see_what_is_wrong() -> None:
    """Each check fails on a drawing that has the fault it is for."""
    sheet = bp.load_sheet(DEMO["sprayer"])
    scene = scene_of(sheet)
    first, second = scene.symbols[1], scene.symbols[3]
    second.labels.append(replace(first.labels[0], text="astray"))
    assert any("astray" in found for found in overlaps(scene))
    second.labels.pop()
    box = first.box
    through = Segment(
        "x", box.left - 5, (box.top + box.bottom) / 2, box.right + 5, (box.top + box.bottom) / 2
    )
    scene.segments.append(through)
    assert any(first.part in found for found in overlaps(scene))
    scene.segments[-1] = replace(scene.segments[0], net="another")
    assert wires_that_meet_wrongly(scene)
    scene.segments.pop()
    drawn = {t for s in scene.symbols for t in s.pins} | {"frame"}
    assert drawn_nets(scene) == written_nets(sheet, drawn)
    scene.segments.pop()
    assert drawn_nets(scene) != written_nets(sheet, drawn)

"""How points are called: as a mechanic says them, no word twice."""

from __future__ import annotations

from backprobe.readings.points import find_point, known_points, reachable_points
from backprobe.sheet.sketch import sketch

SHEET = sketch("battery+ > fuse F1 5 A > coil Y1 8 ohm > frame; fuse F1 > lamp H1 > ring G1 > frame")


def test_a_ground_lug_is_called_a_lug_once() -> None:
    names = [p.name for p in reachable_points(SHEET)]
    assert "ground lug of coil Y1" in names
    assert "ring G1 lug" in names
    assert not [name for name in [*names, *known_points(SHEET)] if name.split().count("lug") > 1]


def test_a_lug_is_found_by_its_name_and_as_earlier_versions_called_it() -> None:
    point = find_point("ground lug of coil Y1", SHEET)
    assert point is not None
    assert (point.name, point.terminal) == ("ground lug of coil Y1", "ground lug of coil Y1.lug")
    assert find_point("ground lug of coil Y1 lug", SHEET) == point
    found = find_point("ring G1", SHEET)
    assert found is not None
    assert found.name == "ring G1 lug"

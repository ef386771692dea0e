"""The list of points: in groups, nothing left out, what is near the last reading first."""

from __future__ import annotations

from backprobe.demo.story import demo_jobs
from backprobe.jobs.job import Job
from backprobe.jobs.store import Store
from backprobe.readings.points import reachable_points
from backprobe.web.point_groups import MOST_NEAR, PointGroup, point_groups
from backprobe.web.texts import texts

SPRAYER = next(s for s in demo_jobs() if s.name == "sprayer")
EN = texts("en")


def groups(*lines: str) -> list[PointGroup]:
    with Store.open(":memory:") as store:
        job = Job.new(store, SPRAYER.sheet, title="boom dead")
        for line in lines:
            job.read(line)
        return point_groups(SPRAYER.sheet, job.readings(), EN)


def test_every_point_stands_in_a_group_of_its_own_and_both_sides_of_every_plug() -> None:
    found = groups()
    listed = [p for g in found for p in g.points]
    assert len(listed) == len(set(listed))
    assert {p.name for p in reachable_points(SPRAYER.sheet)} <= set(listed)
    assert {"C5-3 machine side", "C5-3 part side"} <= set(listed)
    by_label = {g.label: g.points for g in found}
    assert by_label["C5: gate sensor"] == ("C5-1", "C5-2", "C5-3")
    assert "before fuse F4" in by_label["fuses, switches, parts"]
    assert "ring G1 lug" in by_label["rings, splices"]
    assert "battery+" in by_label["battery, frame"]


def test_what_lies_beside_the_last_reading_comes_first() -> None:
    found = groups("C5-1 to battery-: 6.36 V, key on, gate shut, boom button pressed, all plugged")
    near = found[0]
    assert near.label == "near the last reading"
    assert near.points[:2] == ("C5-1", "battery-")
    # The feed runs by way of splice S2 to C5-1.
    assert "splice S2" in near.points
    assert "ring G2 lug" not in near.points
    assert len(near.points) <= MOST_NEAR
    assert found[1].label.startswith("C1")


def test_a_plug_that_was_off_stands_with_its_two_sides_before_those_that_are_on() -> None:
    state = "key on, gate shut, boom button pressed, C5 unplugged"
    labels = [g.label for g in groups(f"C5-1 machine side to battery-: 8.5 V, {state}")]
    assert labels.index("C5 unplugged") < labels.index("C5: gate sensor")
    assert labels.index("C2 unplugged") > labels.index("rings, splices")

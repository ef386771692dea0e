"""A sheet that leaves its build open: a cure is tried on every build that the readings leave."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

import backprobe as bp
from backprobe.report.trial_words import trial_text
from backprobe.workbench.trial import LEAST_BUILD, Trials
from backprobe.workbench.trial_values import ForBuild
from backprobe.workbench.verdict import CODE, DEFEATS, NO_EFFECT, SOUND_REPAIR
from tests.cli.helpers import misfits, put, run, run_json, too_wide

# Feed of 5, 8 or 10 V, shares 2 : 2 : 1; shut from 55 to 86 %, open from 8 to 38 % of it.
TEMPLATE = "three-wire-sensor-middle"
STAND_IN = "feed 3 V to C2-2 through 1k, C2 unplugged"
DEAD = "state: key on, gate shut, lever raise, all plugged\nlift dead\n"


@cache
def sheet() -> bp.Sheet:
    return bp.parse_sheet(bp.template(TEMPLATE).text)


@cache
def unread() -> Trials:
    return Trials(sheet())


@cache
def at_ten_volts() -> Trials:
    """The feed was read: only the last build of the sheet is left."""
    return Trials(unread().engine, f"{DEAD}C2-1 to C2-3: 10.0 V\nC2-2 to C2-3: 5.0 V")


def by_build(builds: tuple[ForBuild, ...]) -> dict[str, str]:
    return {b.build: b.verdict for b in builds}


def test_each_build_is_judged_as_if_it_were_the_sheet() -> None:
    """3 V is 60 % of 5 V, shut; 38 % of 8 V and 30 % of 10 V, open: it lets go on the first build alone."""
    (meaning,) = unread().read(STAND_IN).meanings
    found = by_build(meaning.builds)
    assert found == {"feed volts 5 V": DEFEATS, "feed volts 8 V": NO_EFFECT, "feed volts 10 V": NO_EFFECT}
    for build in sheet().builds:
        words = ", ".join(f"{name} {value}" for name, value in build.choices)
        assert bp.trial(build.sheet, STAND_IN).verdict == found[words]


def test_the_worst_build_decides_and_the_rest_is_said() -> None:
    (meaning,) = unread().read(STAND_IN).meanings
    assert meaning.verdict == DEFEATS
    assert meaning.builds[0].build == "feed volts 5 V"
    assert [b.probability for b in meaning.builds] == pytest.approx([0.4, 0.4, 0.2])
    assert meaning.reasons[-1] == (
        "it depends on the build: defeats the guard with feed volts 5 V (40 %), "
        "no effect with feed volts 8 V or 10 V (60 %)"
    )
    text = trial_text(unread().read(STAND_IN))
    # It defeats the guard on one build only: of that one it is said where.
    assert "On the build with feed volts 5 V: The guard is lost with " in " ".join(text.split())
    assert not too_wide(text)


def test_where_all_builds_agree_nothing_is_said_of_them() -> None:
    """Signal to ground is a code at any feed."""
    (meaning,) = unread().read("join C2-2 C2-3, C2 unplugged").meanings
    assert meaning.verdict == CODE
    assert set(by_build(meaning.builds).values()) == {CODE}
    assert not [r for r in meaning.reasons if "build" in r]


def test_readings_leave_one_build_and_its_suspects() -> None:
    """At 10 V half of the feed is neither open nor shut: the sensor's own faults come before all else."""
    trials = at_ten_volts()
    kept = {words: p for words, p, _ in trials.builds}
    assert max(kept, key=kept.__getitem__) == "feed volts 10 V"
    assert kept["feed volts 10 V"] > 0.9
    assert min(kept.values()) >= LEAST_BUILD
    (meaning,) = trials.read("clean and realign the target").meanings
    assert meaning.verdict == SOUND_REPAIR
    named = {s.name.partition(", with ")[0] for s in meaning.suspects}
    assert "gate sensor: target missing" in named


def test_the_chance_of_a_cure_is_over_all_builds() -> None:
    (meaning,) = unread().read("swap the gate sensor").meanings
    assert meaning.cure_chance == pytest.approx(sum(b.probability * b.cure_chance for b in meaning.builds))
    assert meaning.cure_chance == pytest.approx(sum(s.probability for s in meaning.suspects if s.cures))
    assert 0 < meaning.cure_chance < 1


def test_a_suspect_is_told_apart_by_build_only_where_its_verdict_is() -> None:
    (meaning,) = unread().read("swap the gate sensor").meanings
    names = [s.name for s in meaning.suspects]
    assert len(names) == len(set(names))
    whole = unread().answer.suspects
    for s in meaning.suspects:
        if ", with " not in s.name:
            (own,) = [x for x in whole if x.name == s.name]
            assert s.probability == pytest.approx(own.probability)


def test_what_is_open_stands_in_the_hearsay_too() -> None:
    found = bp.hearsay(unread().engine, STAND_IN)
    assert dict(found.builds)["feed volts 8 V"] == pytest.approx(0.4)
    assert bp.hearsay(bp.parse_sheet(bp.template("start-chain").text), "unplug C1").builds == ()


def test_commands(tmp_path: Path) -> None:
    path = put(tmp_path, "open.yaml", bp.template(TEMPLATE).text)
    document = run_json("trial", path, STAND_IN)
    assert misfits(document, json.loads(run("schema", "trial").stdout)) == []
    assert len(document["meanings"][0]["builds"]) == 3
    said = put(tmp_path, "said.txt", STAND_IN)
    text = " ".join(run("hearsay", path, said).stdout.split())
    assert "Which build it is stays open: feed volts 5 V (40 %), feed volts 8 V (40 %) or" in text
    assert misfits(run_json("hearsay", path, said), json.loads(run("schema", "hearsay").stdout)) == []

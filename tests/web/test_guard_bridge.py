"""A bridge over a guard never reads as a cure: the refusal, why, and what is measured instead."""

from __future__ import annotations

import re
from functools import cache

import pytest

import backprobe as bp
from backprobe.demo.story import demo_jobs, demo_sheets
from backprobe.jobs.job import Job
from backprobe.report.hearsay_words import hearsay_text
from backprobe.report.trial_words import lost_words, trial_text
from backprobe.web.texts import texts
from backprobe.workbench.trial import Trials
from backprobe.workbench.verdict import CODE, DEFEATS
from tests.web.helpers import at_work, visitor
from tests.web.test_tools_numbers import asked, plain

STORIES = {"dumper": "D2", "sprayer": "S3", "platform": "P4"}
CURES = ("makes it work", "cures it", "if that is the cause", "geht damit", "lets boom run")


@cache
def trials(name: str) -> Trials:
    """A demo machine with everything that was read on it."""
    story = next(s for s in demo_jobs() if f" {STORIES[name]}," in s.sheet.name)
    return Trials(bp.Engine(story.sheet), "\n".join(step.line for step in story.steps))


def page_of(name: str, claim: str, language: str = "en") -> str:
    machine = trials(name)
    with at_work() as (_, other):
        job = Job.new(other.store, machine.engine.sheet, title="dead")
        for reading in machine.readings:
            job.read(reading.text)
        with visitor(other.store, language=language) as client:
            return asked(client, f"/job/{job.record.id}/trial", {"claim": claim})


def test_the_bridge_that_would_do_it_is_not_pointed_out() -> None:
    found = trials("sprayer").read("bridge it")
    # One of them does: every function would run with it, and a code would be set.
    assert any(m.works_chance and m.works_chance > 0.9 and m.verdict == CODE for m in found.meanings)
    assert not any(m.cures for m in found.meanings)
    assert all(m.refused for m in found.meanings)
    text = " ".join(trial_text(found).split())
    said = plain(page_of("sprayer", "bridge it"))
    reply = hearsay_text(bp.hearsay(trials("sprayer").engine, "bridge it", trials("sprayer").readings))
    for words in (text, said, " ".join(reply.split())):
        assert "Refused as a repair" in words
        assert not [c for c in CURES if c in words.casefold()]
    assert "measure volts" in said
    # Nor by what is said of the others.
    assert "would not even" not in said
    assert "Can run" not in said
    assert "If this is what is wrong" not in said


@pytest.mark.parametrize("claim", ["bridge the gate switch", "bridge the gate switch for a moment"])
def test_page_and_command_tell_of_a_refused_bridge_in_the_same_words(claim: str) -> None:
    found = trials("platform").read(claim)
    (meaning,) = found.meanings
    lost = lost_words(meaning, found.sheet)
    assert lost.startswith("The guard is lost with ")
    text, said = " ".join(trial_text(found).split()), plain(page_of("platform", claim))
    for words in (text, said):
        for told in (lost, *meaning.reasons, *meaning.cautions, meaning.instead):
            assert told in words
        assert "can run" not in words.casefold()
    german = plain(page_of("platform", claim, "de"))
    assert texts("de").said(lost) in german
    assert lost not in german


@pytest.mark.parametrize("name", sorted(STORIES))
def test_of_many_meanings_the_worst_stands_there_and_the_others_are_folded(name: str) -> None:
    page = page_of(name, "bridge it")
    answer = page[page.index('id="answer"') : page.index("<form", page.index('id="answer"'))]
    before, fold, after = answer.partition("that it may mean")
    assert len(re.findall(r"<h3>\d+\. ", before)) == 1
    assert fold
    assert "<h3>2. " in after
    assert "</details>" in after


def test_a_sensor_that_is_called_a_switch_is_called_so_first() -> None:
    first = "gate sensor is a sensor: there is no gate switch here"
    for meaning in trials("sprayer").read("bridge the gate switch").meanings:
        assert meaning.reasons[0] == first
    shown = plain(page_of("sprayer", "bridge the gate switch"))
    assert shown.index(first) < shown.index("Refused as a repair")
    for claim in ("bridge the gate sensor", "bridge it"):
        assert not any(first in m.reasons for m in trials("sprayer").read(claim).meanings)
    (real,) = trials("platform").read("bridge the gate switch").meanings
    assert not any("is a sensor" in r for r in real.reasons)


def test_once_mended_and_today_are_told_apart() -> None:
    (meaning,) = trials("platform").read("bridge the gate switch").meanings
    assert meaning.verdict == DEFEATS
    assert meaning.reasons == (
        "the guard is lost: once ring G5 is mended, lift runs with gate open",
        "today lift would not even run with it: the volts are lost at ring G5",
    )
    (unread,) = Trials(demo_sheets()["platform"]).read("bridge the gate switch").meanings
    assert unread.reasons == ("the guard is lost: lift runs with gate open",)
    german = [texts("de").said(r) for r in meaning.reasons]
    assert german[0].startswith("der Schutz ist weg, sobald ring G5 repariert ist: lift läuft")
    assert german[1].startswith("heute: lift würde nicht einmal laufen")

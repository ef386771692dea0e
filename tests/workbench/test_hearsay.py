"""The hearsay table and the answer that can be pasted as a reply."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import backprobe as bp
from backprobe.report.hearsay_words import answer_text, hearsay_text
from backprobe.workbench.claims import ClaimError
from backprobe.workbench.verdict import CODE, DAMAGES, DEFEATS, NO_EFFECT, SOUND_REPAIR
from tests.cli.helpers import misfits, put, run, run_json, too_wide
from tests.workbench.trial_walk import HERE, sheet_of

PROPOSED = """\
# what three people said
just bridge it
2. feed 6 V to C2-3 through 1k
clean and realign the target
it's the door switch
bigger fuse
wave a wand   # nobody knows
"""
READINGS = """\
state: key on, seat seated, cutter switch pressed, all plugged
cutter dead
C2-1 to battery-: 10.0 V
C2-3 to battery-: 4.46 V
"""
SHEET = str(HERE / "family_a.yaml")


def test_one_table() -> None:
    found = bp.hearsay(sheet_of("family_a"), PROPOSED, READINGS, file="said.txt")
    assert [s.trial.verdict if s.trial else "" for s in found.said] == [
        CODE,
        DEFEATS,
        SOUND_REPAIR,
        NO_EFFECT,
        DAMAGES,
        "",
    ]
    assert [s.line for s in found.said] == [2, 3, 4, 5, 6, 7]
    assert found.said[-1].problem.startswith("said.txt:7: claim: 'wave a wand' is not understood")
    assert found.said[2].cure_chance > 0
    assert found.said[1].cure_chance == 0


def test_the_answer_carries_evidence_and_cautions() -> None:
    found = bp.hearsay(sheet_of("family_a"), PROPOSED, READINGS)
    words = " ".join(answer_text(found).split())
    assert "What was read: cutter dead; C2-1 to battery-: 10.0 V; C2-3 to battery-: 4.46 V." in words
    assert "That speaks for" in words
    # The number that a list put before the line is no part of what was said.
    assert "Do not do this, it defeats the guard: - feed 6 V to C2-3 through 1k: taken as 6.00 V fed" in words
    assert "Allowed, and worth doing in this order: - clean and realign the target" in words
    assert words.count("Refused as a repair") == 1
    assert "Not fitted on this build, so not the cause: it's the door switch. Here seat sensor tells" in words
    assert "I do not know what is meant by: wave a wand." in words
    assert "prove the guard" in words
    sound = words[words.index("Allowed, and worth") :].partition("I do not know")[0]
    assert "feed 6 V" not in sound
    assert "bridge" not in sound
    assert not too_wide(hearsay_text(found))


def test_what_is_vague_and_harmless_counts_by_its_best_meaning() -> None:
    """Cleaner "in it" goes into plugs and switches; where one of them may be the cure the saying is sound."""
    sheet = bp.sketch(
        "battery+ > fuse F1 5 A > key > C1-1 > seat switch > C1-2 > relay coil K1 90 ohm > frame"
    )
    (said,) = bp.hearsay(sheet, "spray contact cleaner in it").said
    assert said.trial is not None
    assert {m.verdict for m in said.trial.meanings} >= {SOUND_REPAIR}
    assert said.verdict == SOUND_REPAIR


def test_refusals_are_said_once_with_all_their_points() -> None:
    words = " ".join(
        answer_text(bp.hearsay(sheet_of("family_b"), "join C2-2 C2-3\nfeed battery to C2-1")).split()
    )
    assert words.count("Refused as a repair") == 1
    assert "The same goes for C2-1." in words


def test_without_readings_it_says_so() -> None:
    found = bp.hearsay(sheet_of("family_b"), "unplug C2")
    assert "Nothing was measured yet" in answer_text(found)


@pytest.mark.parametrize("text", ["", "# nothing\n", "unplug C2\n" * 201, "wave a wand\n"])
def test_nothing_to_judge(text: str) -> None:
    with pytest.raises(ClaimError):
        bp.hearsay(sheet_of("family_a"), text, file="said.txt")


def test_command(tmp_path: Path) -> None:
    said, read = put(tmp_path, "said.txt", PROPOSED), put(tmp_path, "read.txt", READINGS)
    shown = run("hearsay", SHEET, said, "--readings", read)
    assert shown.exit_code == 1
    assert "NOT JUDGED" in shown.stdout
    piped = run("hearsay", SHEET, "-", stdin="unplug C2\n")
    assert piped.exit_code == 0
    document = run_json("hearsay", SHEET, said, "--readings", read)
    assert misfits(document, json.loads(run("schema", "hearsay").stdout)) == []
    assert run("hearsay", SHEET).exit_code == 2

"""What people say in a yard, on four machines: understood, or answered by one line that says what to type.

Wording: common practice, no source. What a saying comes to follows from what each machine has. The dumper:
switches in a row, one relay, no controller. The sprayer: a sensor at a gate. The lock valve: a bar switch
that a controller reads. The trimmer: a sensor under the seat that a controller reads.
"""

from __future__ import annotations

from functools import cache

import pytest

import backprobe as bp
from backprobe.demo.story import demo_sheets
from backprobe.report.trial_words import trial_text
from backprobe.workbench import verdict as v
from backprobe.workbench.hearsay import Said
from backprobe.workbench.trial import Trials
from tests.workbench.trial_walk import sheet_of

MACHINES = ("dumper", "sprayer", "lock valve", "trimmer")
D, H, C, N, R = v.DEFEATS, v.DAMAGES, v.CODE, v.NO_EFFECT, v.SOUND_REPAIR
ABSENT = "not fitted"
Row = tuple[str, ...]

# How many things a saying may mean on each machine, and what they come to at worst; or words of the answer.
TABLE: dict[str, Row] = {
    # Three guard plugs on the dumper, one on each of the others.
    "clean the plug": (f"3 {R}", f"1 {R}", f"1 {R}", f"1 {R}"),
    "clean C2": ("Its plugs: C1, C6, C7, C8, C9", f"1 {R}", f"1 {R}", f"1 {R}"),
    # In plugs and switches; nothing gets into a sealed sensor.
    "spray contact cleaner in it": (f"6 {R}", f"1 {R}", f"2 {R}", f"1 {R}"),
    "spray some contact cleaner in C2": ("Its plugs: C1, C6, C7, C8, C9", f"1 {R}", f"1 {R}", f"1 {R}"),
    # A switch is called a sensor and the other way round.
    "change the sensor": (f"3 {R}", f"1 {R}", f"1 {R}", f"1 {R}"),
    "change the seat switch": (f"1 {R}", ABSENT, ABSENT, f"1 {R}"),
    "new bar switch": (ABSENT, ABSENT, f"1 {R}", ABSENT),
    # Every fuse may be meant.
    "put a bigger fuse in": (f"2 {H}", f"1 {H}", f"2 {H}", f"1 {H}"),
    "wrap the fuse in foil": (f"2 {H}", f"1 {H}", f"2 {H}", f"1 {H}"),
    # What holds the guard's own part for good defeats it wherever there is such a part.
    "tie the seat switch down": (f"1 {D}", ABSENT, ABSENT, f"1 {D}"),
    "tape the bar switch": (ABSENT, ABSENT, f"1 {D}", ABSENT),
    "hold the seat switch by a cable tie": (f"1 {D}", ABSENT, ABSENT, f"1 {D}"),
    "put a bag of sand on the seat": (f"1 {D}", ABSENT, ABSENT, f"1 {D}"),
    "zip tie the gate": (ABSENT, f"1 {D}", ABSENT, ABSENT),
    "hold it shut with a bungee": (f"3 {D}", f"1 {D}", f"1 {D}", f"1 {D}"),
    # Two of two cavities, or of three, with the plug off; a clip may also go in with the plug on.
    "pull the plug and join two of them": (f"3 {D}", f"3 {C}", f"1 {D}", f"3 {C}"),
    "put a paper clip in": (f"6 {D}", f"6 {C}", f"2 {D}", f"6 {C}"),
    "stick a paper clip in C2": ("Use one of: C1, C6", f"6 {C}", f"2 {D}", f"6 {C}"),
    "bypass the bar": (ABSENT, ABSENT, f"1 {D}", ABSENT),
    "jump the relay": (f"1 {D}", ABSENT, ABSENT, ABSENT),
    # The wires on either side of the part; a sensor has three. The trimmer's lost ground is a code.
    "cut the seat wire": (f"2 {N}", ABSENT, ABSENT, f"3 {C}"),
    "cut the bar wire": (ABSENT, ABSENT, f"2 {N}", ABSENT),
    "swap the relays": (f"1 {R}", ABSENT, ABSENT, ABSENT),
    "reset it with the battery off": (f"1 {N}", f"1 {N}", f"1 {N}", f"1 {N}"),
    "clear the codes": (f"1 {N}", f"1 {N}", f"1 {N}", f"1 {N}"),
    "replace the controller": (ABSENT, f"1 {R}", f"1 {R}", f"1 {R}"),
    "it needs a new computer": (ABSENT, f"1 {R}", f"1 {R}", f"1 {R}"),
    "run a new ground": (f"1 {R}", f"1 {R}", f"1 {R}", f"1 {R}"),
    "replace the whole loom": (f"1 {R}", f"1 {R}", f"1 {R}", f"1 {R}"),
    "pull the fuse": (f"1 {N}", f"1 {N}", f"1 {N}", f"1 {N}"),
    "tighten the battery terminals": (f"1 {N}", f"1 {N}", f"1 {N}", f"1 {N}"),
    "take the keeper off": (ABSENT, f"1 {N}", ABSENT, f"1 {N}"),
    "wiggle the wires": ("is a check, not a cure",) * 4,
    "kick the tyre": ("is not understood. Write such as: join ",) * 4,
}


@cache
def trials(machine: str) -> Trials:
    """The bench of a machine, made once."""
    if machine in demo_sheets():
        return Trials(demo_sheets()[machine])
    template = bp.parse_sheet(bp.template("lock-valve-low-side").text)
    return Trials(sheet_of("family_a") if machine == "trimmer" else template)


@cache
def said_on(machine: str, saying: str) -> Said:
    try:
        return Said(1, saying, trials(machine).read(saying), "")
    except bp.BackprobeError as error:
        return Said(1, saying, None, " ".join(str(p) for p in error.problems))


def test_the_table_is_wide_enough() -> None:
    assert len(TABLE) >= 25
    assert all(len(row) == len(MACHINES) for row in TABLE.values())


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("saying", list(TABLE))
def test_sayings(saying: str, machine: str) -> None:
    expected = TABLE[saying][MACHINES.index(machine)]
    said = said_on(machine, saying)
    if said.trial is None:
        assert expected in said.problem
        assert "\n" not in said.problem
        return
    meanings = said.trial.meanings
    if all(m.cure.kind == "not fitted" for m in meanings):
        assert expected == ABSENT
        assert meanings[0].reasons[0] == v.NOT_FITTED
        return
    assert f"{len(meanings)} {said.verdict}" == expected


@pytest.mark.parametrize("machine", MACHINES)
def test_a_defeat_is_named_and_no_repair(machine: str) -> None:
    """Whatever lets a function go with its guard open is called so first, and refused."""
    for saying in TABLE:
        trial = said_on(machine, saying).trial
        for meaning in trial.meanings if trial else ():
            if any(r.startswith(v.LOST) for e in meaning.effects if e.judged for r in e.reasons):
                assert meaning.verdict == v.DEFEATS
            if meaning.verdict == v.DEFEATS:
                assert meaning.cautions[-1].startswith("Refused as a repair")
        if trial and trial.verdict == v.DEFEATS:
            assert "DEFEATS THE GUARD" in "\n".join(trial_text(trial).splitlines()[:8])


def test_hold_for_a_moment_and_hold_for_good() -> None:
    """A hand is a moment, a cable tie is for good."""
    (by_hand,) = trials("trimmer").read("hold the seat switch").meanings
    (by_tie,) = trials("trimmer").read("hold the seat switch with a cable tie").meanings
    assert not by_hand.cure.lasting
    assert by_tie.cure.lasting


def test_nobody_speaks_of_a_controller_that_is_not_there() -> None:
    for saying in TABLE:
        trial = said_on("dumper", saying).trial
        for meaning in trial.meanings if trial else ():
            told = " ".join([*meaning.cautions, *meaning.reasons])
            assert "tells the controller" not in told
            assert "tell the controller" not in told


def test_a_slip_of_writing_is_no_missing_part() -> None:
    assert "Did you mean 'seat switch'" in said_on("dumper", "swap the seet switch").problem
    assert "Did you mean 'seat sensor'" in said_on("trimmer", "change the seat sensr").problem


def test_a_machine_without_a_guard_refuses_nothing_in_its_name() -> None:
    sheet = bp.sketch("battery+ > fuse F1 5 A > key > C1-1 > lamp H1 > frame")
    (meaning, *_) = bp.trial(sheet, "put a paper clip from C1-1 to battery+").meanings
    assert not [c for c in meaning.cautions if "guard" in c]
    assert meaning.cautions[0].startswith("Refused as a repair: with C1-1 joined to battery+ it runs unasked")


def test_where_there_is_no_plug_the_answer_names_what_to_clean() -> None:
    sheet = bp.sketch("battery+ > fuse F1 5 A > key > seat switch > relay coil K1 90 ohm > frame")
    with pytest.raises(bp.BackprobeError, match="clean seat switch"):
        bp.trial(sheet, "clean the plug")


@pytest.mark.parametrize(
    ("saying", "answer"),
    [
        ("put a paper clip in", "Name two points, such as: join battery+ frame."),
        ("stick a paper clip in C2", "It has none: name points or parts."),
        ("spray contact cleaner in it", "Name it, such as: clean "),
        ("cut the wire", "may be any wire of this sheet. Name it as the sheet does, such as: cut wire "),
    ],
)
def test_where_a_saying_can_mean_nothing_the_answer_says_what_to_type(saying: str, answer: str) -> None:
    """A lamp on a fuse: no plug, no guard."""
    sheet = bp.sketch("battery+ > fuse F1 5 A > lamp H1 > frame")
    with pytest.raises(bp.BackprobeError) as caught:
        bp.trial(sheet, saying)
    assert answer in str(caught.value)

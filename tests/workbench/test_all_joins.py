"""Every join of a plug: as many as there are set partitions, and each judged as an independent walk does."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

import backprobe as bp
from backprobe.circuit.full import solve_full
from backprobe.circuit.setup import Attachment, Setup
from backprobe.circuit.stage import make_stage
from backprobe.report.trial_words import all_joins_text
from backprobe.workbench.claim import Cure
from backprobe.workbench.claim_joins import Blocks, partitions
from backprobe.workbench.claims import ClaimError
from backprobe.workbench.join_sweep import Sweep, middle_rows, sweep
from backprobe.workbench.trial import Trials
from backprobe.workbench.trial_effects import Watch
from backprobe.workbench.trial_values import Meaning
from backprobe.workbench.verdict import DEFEATS, RANK, SOUND_REPAIR, severity
from tests.cli.helpers import misfits, run, run_json, too_wide
from tests.workbench.trial_walk import HERE, opened, sheet_of, solved, states_of, unasked

CLAIMS = (
    "bridge it",
    "it wants a resistor",
    "give it 6 V",
    "give it 3 V",
    "feed 6 V to C2-3 through 1k",
    "feed 2 V to C2-3 through 1k",
    "feed battery to C3-1",
    "feed battery to C2-3 through 10k",
    "unplug it",
    "fit a 30 A fuse",
    "join C2-3 to C3-1",
    "swap the sensor for another type",
    "clean and realign the target",
)


def leads(blocks: Blocks) -> tuple[Attachment, ...]:
    return tuple(Attachment("jumper", f"{a}.machine", f"{b}.machine") for x in blocks for a, b in pairwise(x))


@pytest.mark.parametrize(("cavities", "ways"), [(1, 1), (2, 2), (3, 5), (4, 15), (5, 52), (6, 203)])
def test_as_many_joins_as_set_partitions(cavities: int, ways: int) -> None:
    """Bell numbers 1, 2, 5, 15, 52, 203 (The On-Line Encyclopedia of Integer Sequences, A000110 [mem])."""
    found = list(partitions([str(k) for k in range(cavities)]))
    assert len(found) == len({frozenset(map(frozenset, blocks)) for blocks in found}) == ways


def check_against_walk(
    engine: bp.Engine, found: Sweep, unplugged: frozenset[str], picks: list[tuple[int, int]]
) -> int:
    """Compare states and joins with full solves of every fault; gives how many trials defeat a guard."""
    names, changes = middle_rows(engine)
    assert names == found.faults
    values = changes.values(engine.circuit.nominal)
    defeats = 0
    for s, j in picks:
        state = dict(found.states[s].state)
        alone = solved(engine.circuit, state, values=values)
        solution = solved(engine.circuit, state, leads(found.joins[j]), unplugged, values)
        for f in range(len(names)):
            if not solution.chatters[f]:
                wrong = bool(opened(solution, state, f)) or bool(unasked(solution, alone, f))
                verdict = RANK[int(found.severity[s, j, f])]
                assert (verdict == DEFEATS) == wrong, (state, found.joins[j], names[f], verdict)
                defeats += wrong
    return defeats


@pytest.mark.parametrize("unplugged", [True, False])
@pytest.mark.parametrize("family", ["family_a", "family_b"])
def test_every_trial_that_opens_a_guard_is_called_so(family: str, *, unplugged: bool) -> None:
    """All joins of three pins, all single faults, all states: no other verdict where a guard is open."""
    engine = bp.Engine(sheet_of(family))
    found = sweep(engine, "C2", unplugged=unplugged)
    assert {tuple(s.state) for s in found.states} == {
        tuple(sorted(s.items())) for s in states_of(engine.sheet)
    }
    every = [(s, j) for s in range(len(found.states)) for j in range(len(found.joins))]
    off = frozenset({"C2"}) if unplugged else frozenset[str]()
    defeats = check_against_walk(engine, found, off, every)
    assert defeats > 0


@pytest.mark.parametrize("family", ["family_a", "family_b"])
def test_every_claim_that_opens_a_guard_is_called_so(family: str) -> None:
    """Claims of every kind, every meaning, every state, on a sound machine."""
    trials = Trials(sheet_of(family))
    circuit = trials.engine.circuit
    verdicts = set()
    for claim in CLAIMS:
        for meaning in trials.read(claim).meanings:
            cure = meaning.cure
            values = cure.changed(circuit, circuit.nominal[None])
            for state in states_of(trials.engine.sheet):
                solution = solved(circuit, state, cure.attached, cure.unplugged, values)
                if opened(solution, state):
                    assert meaning.verdict == DEFEATS, (cure.words, state)
            verdicts.add(meaning.verdict)
            assert meaning.verdict != SOUND_REPAIR or cure.mends
    assert DEFEATS in verdicts
    assert len(verdicts) > 2


@pytest.mark.slow
def test_six_cavities_agree_with_full_solves() -> None:
    """All joins under all faults in all states; a drawn sample of them against full solves of every fault."""
    engine = bp.Engine(sheet_of("six_cavities"))
    found = sweep(engine, "C2")
    assert found.severity.shape == (16, 203, len(engine.catalogue.modes) + 1)
    draw = np.random.default_rng(20260406)
    picks = [(int(draw.integers(16)), int(draw.integers(203))) for _ in range(12)]
    opens = np.unique(np.argwhere(found.severity == RANK.index(DEFEATS))[:, :2], axis=0)
    worst = [(int(s), int(j)) for s, j in draw.choice(opens, 4, replace=False)]
    assert check_against_walk(engine, found, frozenset({"C2"}), picks + worst) > 0


READINGS = "state: key on, seat seated, cutter switch pressed, all plugged\nC2-1 to frame 0 V"
LATCHED = """
sheet: Invented press that a button arms, seat and button in one plug
system: 12 V
controls: {key: [off, on], seat: [empty, seated], arm button: [released, pressed]}
runs:
  power:  [battery+, fuse F2 10 A, key switch, C1-1, controller.battery]
  ground: [controller.ground, C1-2, ring G1, frame]
  seat:   [controller.seat input, C1-3, wire W3 2 m, C2-1, seat switch, C2-2, ring G2, frame]
  button: [controller.button input, C1-4, wire W4 2 m, C2-3, arm button, C2-4, ring G2]
  valve:  [controller.press output, C1-5, coil Y1 9 ohm, ring G3, frame]
connectors: {C1: {part: controller}, C2: {part: seat switch}}
parts:
  seat switch: {closed: {seat: seated}}
  arm button: {kind: switch, closed: {arm button: pressed}}
  controller:
    seat input: {pull-up: 3.1 kohm, pull-up volts: 5.3 V, bands: {0..1.4 V: seated, 2.6..6 V: empty}}
    button input: {pull-up: 3.1 kohm, pull-up volts: 5.3 V, bands: {0..1.4 V: pressed, 2.6..6 V: released}}
latches:
  armed:
    set when: button input is pressed and seat input is seated
    clear when: seat input is empty
    set by: arm button pressed
functions:
  press: {releases when: armed is set, drives: press output, guard: seat is seated}
lamps:
  arm lamp: {lit: armed is set or button input is pressed}
"""


def single_trial(watch: Watch, plugs: frozenset[str], found: Sweep, at: tuple[int, int, int]) -> int:
    """Severity of one join under one fault in one state, leads and all solved as a circuit of its own."""
    s, j, f = at
    engine, state, joined = watch.engine, found.states[s], leads(found.joins[j])
    nominal = engine.circuit.nominal
    values = middle_rows(engine)[1].values(nominal)[f][None]
    setup = Setup(state.state, plugs, joined)
    seen = watch.see(solve_full(make_stage(engine.circuit, setup), values), state, Cure("", "join", joined))
    alone = make_stage(engine.circuit, state)
    before = watch.see(solve_full(alone, values), state)
    asked = watch.see(solve_full(alone, nominal[None]), state).released[0]
    return int(severity(seen, before, asked)[0])


def check_against_single_trials(
    watch: Watch, found: Sweep, plugs: frozenset[str], seed: int, each: int
) -> None:
    """Compare a drawn sample, as many of every severity that was found."""
    draw = np.random.default_rng(seed)
    for level in range(len(RANK)):
        every = np.argwhere(found.severity == level)
        for s, j, f in draw.permutation(every)[:each].tolist():
            where = (found.states[s].state, found.joins[j], found.faults[f])
            assert single_trial(watch, plugs, found, (s, j, f)) == level, where


@pytest.mark.slow
@pytest.mark.parametrize("unplugged", [False, True])
def test_six_cavities_agree_with_single_trials(*, unplugged: bool) -> None:
    """The plug on and off: states, joins and faults drawn, each by itself."""
    engine = bp.Engine(sheet_of("six_cavities"))
    watch = Watch(engine)
    every = watch.limits.states
    # Four states in which much may happen: the key is on in all of them, and the guard shut in two.
    watch.limits.states = tuple(s for s in every if (s.position("key"), s.position("bar")) == ("on", "down"))
    found = sweep(engine, "C2", unplugged=unplugged, watch=watch)
    assert len(found.states) == 4
    assert set(np.unique(found.severity)) == set(range(len(RANK)))
    plugs = frozenset({"C2"} if unplugged else ())
    check_against_single_trials(watch, found, plugs, seed=20260519, each=25)


@pytest.mark.parametrize("unplugged", [False, True])
def test_what_was_done_before_counts_in_a_sweep(*, unplugged: bool) -> None:
    """A latch that was set before the leads are judged, or while they were on."""
    engine = bp.Engine(bp.parse_sheet(LATCHED, file="latched"))
    watch = Watch(engine)
    found = sweep(engine, "C2", unplugged=unplugged, watch=watch)
    assert any(s.position("armed") == "set" for s in found.states)
    assert len(set(np.unique(found.severity))) > 1
    plugs = frozenset({"C2"} if unplugged else ())
    check_against_single_trials(watch, found, plugs, seed=20260520, each=25)


@pytest.mark.parametrize("unplugged", [False, True])
@pytest.mark.parametrize("readings", ["", READINGS])
def test_joins_judged_together_are_as_each_alone(readings: str, *, unplugged: bool) -> None:
    """Verdicts, reasons and what every suspect does, word for word."""
    trials = Trials(sheet_of("family_a"), readings)
    together = bp.all_joins(sheet_of("family_a"), "C2", readings, unplugged=unplugged)
    assert len(together.joins) == 5
    for join in together.joins:
        alone = trials.judge([join.meaning.cure]).meanings[0]
        assert bool(alone.suspects) == bool(readings)
        assert said_of(join.meaning) == said_of(alone)


def said_of(meaning: Meaning) -> list[object]:
    """What is said of a cure, and its verdicts, state by state and suspect by suspect."""
    states = [
        (e.state, e.verdict, e.reasons, e.lamps, e.codes, e.released, e.held, e.limiting, e.damaged, e.fuses)
        for e in meaning.effects
    ]
    suspects = [(s.name, s.verdict, s.cures, s.reasons) for s in meaning.suspects]
    return [meaning.cure, meaning.verdict, meaning.reasons, meaning.cautions, states, suspects]


def test_all_joins_of_a_plug() -> None:
    found = bp.all_joins(sheet_of("family_b"), "c2")
    assert len(found.joins) == 5
    assert found.trials == 5 * (found.faults + 1) * found.states
    worst = {j.blocks for j in found.joins if j.sound == DEFEATS}
    assert worst == {(("C2-2", "C2-3"),), (("C2-1", "C2-2", "C2-3"),)}
    text = " ".join(all_joins_text(found).split())
    assert "None of these is a repair" in text
    assert not too_wide(all_joins_text(found))
    with pytest.raises(ClaimError, match="not a plug"):
        bp.all_joins(sheet_of("family_b"), "C9")


def test_command() -> None:
    document = run_json("trial", str(HERE / "family_a.yaml"), "--all-joins", "C2")
    schema = run_json("schema", "trial")
    assert misfits(document, schema) == []
    assert len(document["all_joins"]["joins"]) == 5
    assert run("trial", str(HERE / "family_a.yaml"), "--all-joins", "C7").exit_code == 2

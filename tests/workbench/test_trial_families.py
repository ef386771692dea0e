"""Two families of presence sensors acted out: the facts of the trade (common practice, no source).

The feed comes from the controller, below battery volts, and survives a short since it is limited. Family
A has about 10 V, releases between 4.5 and 7.5 V, sets a code at 4.4 V and below and above 7.5 V, best
aimed at 6.0 V. Family B has about 8 V, releases at 2.6 V and below, not at 3 or 4 V, best aimed at 2.0 V.
"""

from __future__ import annotations

import pytest

import backprobe as bp
from backprobe.circuit.setup import SOURCE_OHMS, Attachment
from backprobe.workbench.trial import Trials
from backprobe.workbench.trial_values import Effect
from backprobe.workbench.verdict import CODE, DAMAGES, DEFEATS, NO_EFFECT, SOUND_REPAIR, SOUND_TEST
from tests.workbench.trial_walk import compiled, sheet_of, solved, volts

ON = {"key": "on", "seat": "seated", "cutter switch": "pressed"}


@pytest.fixture(scope="module")
def family_a() -> Trials:
    return Trials(sheet_of("family_a"))


@pytest.fixture(scope="module")
def family_b() -> Trials:
    return Trials(sheet_of("family_b"))


def in_state(effects: tuple[Effect, ...], **state: str) -> list[Effect]:
    return [e for e in effects if all(e.state.position(k.replace("_", " ")) == p for k, p in state.items())]


def at_signal(family: str, level: float) -> bool:
    """Whether the cutter is released in family's circuit with the signal held at a level."""
    circuit = compiled(family)
    lead = Attachment("source", "C2-3.machine", "controller._ground", SOURCE_OHMS, level)
    solution = solved(circuit, ON, (lead,), frozenset({"C2"}))
    assert volts(solution, "controller.seat input", "controller._ground") == pytest.approx(level, abs=2e-3)
    return bool(solution.modes[0, circuit.device_of["controller.cutter output driven"]])


@pytest.mark.parametrize(
    ("family", "level", "released"),
    [
        ("family_a", 4.4, False),
        ("family_a", 4.5 + 0.005, True),
        ("family_a", 6.0, True),
        ("family_a", 7.5 - 0.005, True),
        ("family_a", 7.6, False),
        ("family_b", 2.0, True),
        ("family_b", 2.6, True),
        ("family_b", 3.0, False),
        ("family_b", 4.0, False),
    ],
)
def test_where_the_input_releases(family: str, level: float, *, released: bool) -> None:
    """Band edges; half of the feed is no rule: 5 V of 10 V lets go, 4 V of 8 V does not."""
    assert at_signal(family, level) is released


def test_half_the_feed_is_no_rule() -> None:
    assert at_signal("family_a", 10 / 2)
    assert not at_signal("family_b", 8 / 2)


@pytest.mark.parametrize(("family", "feed", "aim"), [("family_a", 10.0, 6.0), ("family_b", 8.0, 2.0)])
def test_a_sound_sensor_sits_where_it_is_best_aimed(family: str, feed: float, aim: float) -> None:
    seated = solved(compiled(family), ON)
    assert volts(seated, "controller.feed", "controller._ground") == pytest.approx(feed, abs=0.02)
    assert volts(seated, "controller.seat input", "controller._ground") == pytest.approx(aim, abs=0.02)
    assert volts(seated, "controller.feed", "battery.-") < volts(seated, "battery.+", "battery.-")


def test_unplugged_neither_releases_nor_sets_a_code(family_a: Trials, family_b: Trials) -> None:
    for trials in (family_a, family_b):
        meaning = trials.read("unplug C2").meanings[0]
        assert meaning.verdict == NO_EFFECT
        assert all(not e.released and not e.codes for e in meaning.effects)


def test_no_join_of_three_pins_releases_family_a(family_a: Trials) -> None:
    """Three pairs and one triple, with the plug off and on: eight meanings, none of them lets go wrongly."""
    meanings = family_a.read("bridge it").meanings
    assert len(meanings) == 2 * (3 + 1)
    for meaning in meanings:
        assert all(not e.released for e in in_state(meaning.effects, seat="empty"))
        if "unplugged" in meaning.cure.words:
            assert all(not e.released for e in meaning.effects)


@pytest.mark.parametrize("plug", ["C2 unplugged", "C2 plugged"])
@pytest.mark.parametrize(
    ("claim", "code"),
    [
        ("join C2-2 to C2-3", "seat input code low"),
        ("join all pins of C2", "seat input code low"),
        ("join C2-1 and C2-3", "seat input code high"),
    ],
)
def test_which_join_sets_which_code(family_a: Trials, claim: str, code: str, plug: str) -> None:
    (meaning,) = family_a.read(f"{claim}, {plug}").meanings
    assert meaning.verdict == CODE
    assert all(code in e.codes for e in in_state(meaning.effects, key="on"))


def test_the_feed_survives_a_short(family_a: Trials, family_b: Trials) -> None:
    for trials in (family_a, family_b):
        for meaning in trials.read("join C2-1 C2-2").meanings:
            assert meaning.verdict == NO_EFFECT
            short = in_state(meaning.effects, key="on")
            assert all(e.limiting == ("controller.feed",) and not e.damaged and not e.fuses for e in short)


def test_family_b_is_let_go_by_its_ground(family_b: Trials) -> None:
    """It releases at 2.6 V and below, so signal to ground runs it with nobody seated."""
    for claim in ("join C2-2 C2-3", "join all pins of C2"):
        assert family_b.read(claim).verdict == DEFEATS
    assert {m.verdict for m in family_b.read("join C2-1 C2-3").meanings} == {CODE}


def test_battery_volts_damage_feed_and_input(family_a: Trials) -> None:
    for point in ("C2-1", "C2-3"):
        for meaning in family_a.read(f"feed battery to {point}").meanings:
            assert meaning.verdict == DAMAGES
            assert any("may be damaged" in r for r in meaning.reasons)


def test_a_sensor_fixed_for_good_defeats_the_guard(family_a: Trials, family_b: Trials) -> None:
    for trials in (family_a, family_b):
        for claim in ("tape the magnet to the sensor", "tie the target down for good"):
            trial = trials.read(claim)
            assert trial.verdict == DEFEATS
            assert "Refused as a repair" in trial.meanings[0].cautions[0]


def test_held_for_a_moment_with_the_guard_truly_shut_is_a_test(family_a: Trials) -> None:
    (meaning,) = family_a.read("hold the target in place, key on, seat seated").meanings
    assert meaning.verdict == SOUND_TEST
    assert meaning.cautions[0].startswith("Safe set-up first: engine off")
    assert any(c.startswith("Put back: let go of seat sensor") for c in meaning.cautions)
    assert any("Left in place it defeats the guard" in c for c in meaning.cautions)
    assert family_a.read("hold the target in place").verdict == DEFEATS


@pytest.mark.parametrize("fault", ["seat sensor: shipping keeper left on", "seat sensor: target out of line"])
def test_a_keeper_or_worn_bushings_leave_the_function_dead(family_a: Trials, fault: str) -> None:
    """Neither sees its magnet; each is cured by what puts it right, and only by that."""
    (name,) = [m.name for m in family_a.engine.catalogue.modes if m.name.startswith(fault)]
    assert not bp.works_with(family_a.engine, bp.make_setup(family_a.engine.sheet, ON), name)
    claim = "take the keeper off" if "keeper" in fault else "clean and realign the target"
    (meaning,) = family_a.read(claim).meanings
    assert name in meaning.cure.repairs
    assert name not in family_a.read("clean the grounds").meanings[0].cure.repairs


def test_a_new_sensor_with_its_keeper_on_does_not_see_its_magnet(family_a: Trials) -> None:
    (meaning,) = family_a.read("swap the sensor for a new one with the keeper left on").meanings
    assert meaning.verdict != SOUND_REPAIR
    assert all(not e.released for e in meaning.effects)
    (good,) = family_a.read("swap the sensor").meanings
    assert any("keeper" in c for c in good.cautions)


def test_verdict_for_each_suspect_with_its_probability(family_a: Trials) -> None:
    readings = """
    state: key on, seat seated, cutter switch pressed, all plugged
    cutter dead
    C2-3 to battery-: 4.46 V
    C2-1 to battery-: 10.0 V
    """
    trials = Trials(family_a.engine, readings)
    (meaning,) = trials.read("clean and realign the target").meanings
    assert meaning.verdict == SOUND_REPAIR
    cured = {s.name: s.probability for s in meaning.suspects if s.cures}
    assert "seat sensor: gap too wide" in cured
    assert all(s.verdict == NO_EFFECT for s in meaning.suspects if not s.cures)
    assert meaning.cure_chance == pytest.approx(sum(cured.values()))
    assert 0 < meaning.cure_chance < 1


def test_a_guard_that_is_not_fitted_cannot_be_the_cause(family_a: Trials) -> None:
    for claim in ("door switch", "swap the door switch", "it is the door switch"):
        trial = family_a.read(claim)
        assert trial.verdict == NO_EFFECT
        assert "not fitted on this build" in trial.meanings[0].reasons[0]
    answer = bp.rank(family_a.engine, "cutter dead, key on, seat seated, cutter switch pressed, all plugged")
    assert not [s.name for s in answer.suspects if "door" in s.name]

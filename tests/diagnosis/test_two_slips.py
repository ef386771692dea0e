"""Two readings taken wrong on a sprayer of the demo fleet: both are named, not the sheet alone blamed.

The values are what the solver predicts; the slips are those that mechanics make: black on a painted frame
(nothing is read), and a lead one cavity off. Common practice, no source.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

import backprobe as bp
from backprobe.demo.story import demo_sheets
from backprobe.diagnosis import two_slips as module
from backprobe.diagnosis.doubts import doubtful, doubts
from backprobe.diagnosis.given import sort_readings
from backprobe.diagnosis.search import single_weights
from backprobe.diagnosis.two_slips import two_slips
from backprobe.report.words import answer_text

STATE = {"key": "on", "gate": "shut", "boom button": "pressed"}
HEAD = "state: key on, gate shut, boom button pressed, all plugged\nboom dead\n"
FEW = ("battery+", "C1-1", "C2-1", "C5-1", "C5-3", "C3-1")
MORE = (*FEW, "splice S2", "C2-3", "C1-6", "C3-2", "C1-2", "C5-2")
PAINTED, BESIDE = "C2-1", "C5-3"
"""Read with black on paint, and read at the cavity of the supply beside it."""


@pytest.fixture(scope="module")
def engine() -> bp.Engine:
    return bp.Engine(demo_sheets()["sprayer"])


def lines(engine: bp.Engine, fault: str, points: tuple[str, ...], **wrong: float) -> str:
    """What a meter would show at some points, but for those that are read wrong."""
    found = {e.point: e.volts for e in bp.predict(engine, STATE, points=points, fault=fault)}
    found |= {p.replace("_", "-"): volts for p, volts in wrong.items()}
    return HEAD + "\n".join(f"{p} to battery-: {found[p]:.2f} V" for p in points)


@cache
def spoilt(engine: bp.Engine, fault: str, points: tuple[str, ...]) -> bp.Answer:
    return bp.rank(engine, lines(engine, fault, points, C2_1=0.03, C5_3=12.58))


def named(answer: bp.Answer) -> set[str]:
    return {answer.readings.all[i].red_name for i, _ in doubtful(answer)}


@pytest.mark.parametrize("points", [FEW, MORE])
@pytest.mark.parametrize("fault", ["coil Y1: winding open", "splice S2: corroded", ""])
def test_none_of_these_rises_and_both_are_named(
    engine: bp.Engine, fault: str, points: tuple[str, ...]
) -> None:
    answer = spoilt(engine, fault, points)
    assert answer.none_of_these > 0.9
    assert named(answer) == {PAINTED, BESIDE}
    assert all(chance > 0.9 for _, chance in doubtful(answer))


def test_each_is_said_with_what_it_may_be_and_what_the_others_expect(engine: bp.Engine) -> None:
    answer = spoilt(engine, "coil Y1: winding open", MORE)
    sound = {e.point: e.volts for e in bp.predict(engine, STATE, points=(PAINTED, BESIDE))}
    found = {answer.readings.all[d.reading].red_name: d for d in doubts(answer)}
    for point, doubt in found.items():
        # The open coil changes neither: what the others expect is what a sound circuit shows there.
        assert doubt.expected == pytest.approx(sound[point], rel=0.03)
    assert "black" in {s.kind for s in found[PAINTED].slips}
    text = " ".join(answer_text(answer).split())
    assert text.count("Take again: ") == 2
    assert "None of these faults explains the readings" in text


def test_the_order_of_the_readings_does_not_matter(engine: bp.Engine) -> None:
    read = spoilt(engine, "coil Y1: winding open", FEW).readings.all
    assert named(bp.rank(engine, tuple(reversed(read)))) == {PAINTED, BESIDE}


def test_a_sheet_that_is_wired_otherwise_is_not_two_slips(engine: bp.Engine) -> None:
    # Half the readings are of another circuit: no two of them spoil the rest.
    other = lines(engine, "", MORE, C2_1=3.1, C5_3=11.2, C1_6=6.3, C3_1=1.4, C1_1=14.9, C5_2=4.4)
    answer = bp.rank(engine, other)
    assert answer.none_of_these > 0.5
    assert two_slips(answer) is None


def test_where_a_fault_explains_all_nobody_looks_for_two(
    engine: bp.Engine, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer = bp.rank(engine, lines(engine, "coil Y1: winding open", MORE))
    monkeypatch.setattr("backprobe.diagnosis.doubts.two_slips", pytest.fail)
    assert doubts(answer) == ()


def test_few_readings_cannot_have_two_slips(engine: bp.Engine) -> None:
    points = FEW[2:]
    assert two_slips(spoilt(engine, "coil Y1: winding open", points)) is None


def test_two_left_out_weigh_as_if_they_had_not_been_read(engine: bp.Engine) -> None:
    # The density of all is that of the pair given the others times that of the others (Bishop, PRML 2006,
    # section 2.3.1 [mem]): what is left is the weight of the shorter list.
    answer = spoilt(engine, "coil Y1: winding open", FEW)
    given = answer.readings
    whole, _ = single_weights(engine, given, coarse=True)
    pair = module._pair_density(answer, coarse=True)[:, 1, 4]
    left = [r for k, r in enumerate(given.all) if r not in (given.numbers[1], given.numbers[4])]
    short, _ = single_weights(engine, sort_readings(engine, left), coarse=True)
    slip = 2 * np.log1p(-0.03)
    some = np.isfinite(whole)
    np.testing.assert_allclose((whole - pair)[some], (short + slip)[some], rtol=1e-6, atol=1e-4)

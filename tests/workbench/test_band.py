"""The bands of an input from a sweep: few answers, many, noise, hysteresis, slips."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

import backprobe as bp
from backprobe.errors import ReadingError, UnitError
from backprobe.readings.meter import Accuracy
from backprobe.workbench.band import BandAnswer, band
from backprobe.workbench.band_fit import edge_posterior, fit_binomial
from backprobe.workbench.staircase import centred_isotonic, dixon_mood, reversal_mean, spearman_karber
from backprobe.workbench.sweep import SweepReading, parse_sweep

EXACT = Accuracy(0.0, 0.0)


def comparator(
    volts: np.ndarray, up: float, down: float, *, noise: float = 0.0, seed: int = 0
) -> list[SweepReading]:
    """What a comparator with hysteresis says along a walk of volts."""
    random = np.random.default_rng(seed)
    on, found = False, []
    for v in volts:
        seen = v + noise * random.standard_normal()
        on = seen > (down if on else up)
        found.append(SweepReading(round(float(v), 3), "on" if on else "off", digit=0.001))
    return found


def walk(low: float, high: float, step: float) -> np.ndarray:
    """Up and down again."""
    up = np.arange(low, high + step / 2, step)
    return np.concatenate([up, up[::-1]])


def test_three_answers_give_wide_intervals_between_them() -> None:
    answer = band("4.1: off\n4.7: on\n7.7: code")
    assert [b.answer for b in answer.bands] == ["off", "on", "code"]
    low, high = (c.edges[0] for c in answer.crossings)
    # The median stands about halfway, the interval covers the gap and little more.
    assert low.best == pytest.approx(4.4, abs=0.1)
    assert low.low < 4.2 and low.high > 4.6
    assert high.best == pytest.approx(6.2, abs=0.3)
    assert high.high - high.low > 2.5
    assert answer.bands[1].sure is None or answer.bands[1].margin is not None
    assert answer.next is not None
    assert 5.2 < answer.next.volts < 7.2


def test_more_answers_narrow_the_edge_as_halving_does() -> None:
    """Volts as proposed, from a controller whose edge is at 5.37 V."""
    lines = ["4: off", "7: on"]
    widths = []
    for _ in range(6):
        answer = band("\n".join(lines), accuracy=EXACT)
        edge = answer.crossings[0].edges[0]
        widths.append(edge.high - edge.low)
        assert edge.low < 5.37 < edge.high
        assert answer.next is not None
        lines.append(f"{answer.next.volts}: {'on' if answer.next.volts > 5.37 else 'off'}")
    assert widths[-1] < widths[0] / 5


def test_the_meters_error_is_a_floor_of_the_interval() -> None:
    readings = comparator(walk(3, 6, 0.02), 4.4, 4.4)
    rough = band(readings, accuracy=Accuracy(2.0, 0.0)).crossings[0].edges[0]
    fine = band(readings, accuracy=Accuracy(0.1, 0.0)).crossings[0].edges[0]
    # A rectangular error of +-2 % of 4.4 V: its middle 95 % is 0.95 x 2 x 0.088 V wide.
    assert rough.high - rough.low == pytest.approx(0.95 * 2 * 0.088, rel=0.15)
    assert fine.high - fine.low < 0.05
    assert band(readings, accuracy=Accuracy(2.0, 0.0)).next is None


@pytest.mark.parametrize("seed", range(5))
def test_an_unsharp_edge_is_found_with_its_width(seed: int) -> None:
    readings = comparator(walk(3, 6, 0.02), 4.4, 4.4, noise=0.08, seed=seed)
    answer = band(readings, accuracy=EXACT)
    assert len(answer.crossings) == 1
    edge = answer.crossings[0].edges[0]
    assert edge.low - 0.02 < 4.4 < edge.high + 0.02
    assert edge.width == pytest.approx(0.08, rel=0.6)


def test_hysteresis_is_told_from_its_absence() -> None:
    wide = band(comparator(walk(3, 7, 0.2), 5.05, 4.15), accuracy=EXACT).crossings[0]
    none = band(comparator(walk(3, 7, 0.2), 4.55, 4.55), accuracy=EXACT).crossings[0]
    assert wide.apart is not None and wide.apart > 0.99
    assert {e.way for e in wide.edges} == {"up", "down"}
    up, down = wide.edge("up"), wide.edge("down")
    assert 5.0 - 0.1 < up.low < 5.05 < up.high < 5.3
    assert 4.0 - 0.1 < down.low < 4.15 < down.high < 4.3
    assert none.apart is not None and none.apart < 0.3
    assert [e.way for e in none.edges] == ["both"]


def test_after_an_upper_answer_a_step_up_says_nothing_of_the_upper_edge() -> None:
    """Turned round inside the hysteresis: 4.5 V and 4.8 V are on only since it was on before."""
    readings = comparator(np.array([3, 4, 4.9, 5.2, 6, 4.4, 4.8, 4.0, 3.0]), 5.05, 4.15)
    assert [r.answer for r in readings] == ["off", "off", "off", "on", "on", "on", "on", "off", "off"]
    crossing = band(readings, accuracy=EXACT).crossings[0]
    assert crossing.edge("up").low > 4.7
    assert crossing.edge("down").high < 4.6


def test_ways_as_typed_come_first() -> None:
    lines = "4.2 up: off\n5.2 up: on\n4.6 down: on\n4.3 down: on\n3.8 down: off\n4.8 up: off\n4.9 up: off"
    crossing = band(lines).crossings[0]
    assert crossing.apart is not None and crossing.apart > 0.6


def test_one_wrong_note_does_not_move_the_edge_and_is_named() -> None:
    lines = [f"{v / 10}: {'on' if v > 45 else 'off'}" for v in range(30, 65, 2)] + ["6.1: off"]
    answer = band("\n".join(lines), accuracy=EXACT)
    assert [b.answer for b in answer.bands] == ["off", "on"]
    assert answer.crossings[0].edges[0].best == pytest.approx(4.5, abs=0.1)
    assert answer.misfits == (len(lines) - 1,)


def test_a_code_on_both_sides_is_two_bands() -> None:
    answer = band("0.2: code\n0.4: code\n1.5: open\n2.2: open\n5.1: shut\n6: shut\n8.2: code")
    assert [b.answer for b in answer.bands] == ["code", "open", "shut", "code"]
    shut = answer.bands[2]
    assert shut.middle is not None and shut.margin is not None
    assert 5.0 < shut.middle < 6.8
    assert shut.sure is not None
    assert shut.middle - shut.margin == pytest.approx(shut.sure[0])


def test_one_answer_only_asks_for_other_volts() -> None:
    answer = band("4.2: on\n5.0: on")
    assert answer.crossings == ()
    assert answer.next is not None and answer.next.volts < 4.2
    low = band("0.4: on").next
    assert low is not None and low.volts > 0.4


def test_separated_counts_do_not_blow_up() -> None:
    volts = np.array([4.0, 4.2, 4.4, 4.6])
    upper, trials = np.array([0, 0, 9, 9.0]), np.full(4, 9.0)
    design = np.column_stack([np.ones(4), volts - 4.3])
    with pytest.raises(UnitError, match="separated"):
        fit_binomial(design, trials, upper)
    ridged = fit_binomial(design, trials, upper, ridge=1e-3)
    assert 4.3 + ridged.level()[0] == pytest.approx(4.3, abs=0.01)
    found = edge_posterior(volts, upper, trials, (3.5, 5.0))
    assert 4.2 < found.quantile(0.05) < 4.3 < found.quantile(0.95) < 4.4


def test_the_posterior_holds_what_it_promises() -> None:
    """Edges drawn from the prior lie inside 80 % intervals about 80 % of the time."""
    random = np.random.default_rng(7)
    inside = 0
    for _ in range(150):
        e, s = random.uniform(3, 6), 0.02 * np.exp(1.2 * random.standard_normal())
        v = random.uniform(2.5, 6.5, 12)
        y = (v + s * random.standard_normal(12) > e).astype(float)
        found = edge_posterior(v, y, np.ones(12), (3, 6))
        inside += found.quantile(0.1) < e < found.quantile(0.9)
    # Binomial: 120 +- 5 for 150 draws; four standard deviations.
    assert abs(inside - 120) < 20


def test_counts_stand_for_repeats() -> None:
    one = band("volts,answer,count\n4.2,off,3\n4.4,off,2\n4.4,on,2\n4.6,on,3")
    many = band(
        "\n".join(["4.2 up: off"] * 3 + ["4.4 up: off"] * 2 + ["4.4 up: on"] * 2 + ["4.6 up: on"] * 3)
    )
    assert one.crossings[0].edges[0].best == pytest.approx(many.crossings[0].edges[0].best, abs=0.01)
    assert one.crossings[0].edges[0].readings == 10


def test_a_long_recorded_sweep_is_cut_once() -> None:
    readings = comparator(walk(3, 6, 0.0005), 4.4, 4.4, noise=0.05, seed=3)
    answer = band(readings, accuracy=EXACT)
    assert len(answer.crossings) == 1
    assert answer.crossings[0].edges[0].best == pytest.approx(4.4, abs=0.02)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "holds no answer"),
        ("# nothing", "holds no answer"),
        ("4.2 off", "does not say volts and answer"),
        ("off: 4.2", "no number"),
        ("4 ohm: off", "a voltage .V. is needed"),
        ("480 V: off", "above 60 V"),
        ("OL: off", "over-range"),
        ("volts,thing\n4,off", "has no column for the answer"),
        ("volts [mV],answer\n4000,off", "is not V"),
        ("volts,answer\n4,", "is missing in this row"),
        ("volts,answer,direction\n4,on,sideways", "neither up nor down"),
        ("volts,answer,count\n4,on,many", "is no count"),
        ("volts,answer", "no row"),
    ],
)
def test_bad_sweeps_are_refused_in_words(text: str, says: str) -> None:
    with pytest.raises(ReadingError, match=says) as caught:
        parse_sweep(text, file="sweep.csv")
    assert caught.value.problems[0].file == "sweep.csv"


def test_lines_are_named_and_all_at_once() -> None:
    with pytest.raises(ReadingError) as caught:
        parse_sweep("volts;answer\n4,2;off\nx;on\n4,6;\n", file="s.csv")
    assert [(p.line, p.field) for p in caught.value.problems] == [(3, "volts"), (4, "answer")]


def test_a_decimal_comma_is_read_with_semicolons() -> None:
    assert [r.volts for r in parse_sweep("volts;answer\n4,25;off\n4,5;on")] == [4.25, 4.5]
    assert parse_sweep("4.25\toff\tup")[0] == SweepReading(4.25, "off", "up", 0.01, 1)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: dixon_mood([1, 2], [True, True], 1),
        lambda: dixon_mood([1, 2.5], [True, False], 1),
        lambda: reversal_mean([1, 2], [False, False], 1),
        lambda: reversal_mean([1], [False], 1),
        lambda: centred_isotonic([1, 2], [True, True], shrink=False),
        lambda: spearman_karber([0, 1], [5, 5], [0, 5]),
        lambda: spearman_karber([1, 2], [5, 5], [1, 5]),
    ],
)
def test_estimators_refuse_what_they_cannot_use(wrong: Callable[[], object]) -> None:
    with pytest.raises(UnitError):
        wrong()


def test_it_is_offered_by_the_package() -> None:
    assert isinstance(bp.band("4.1: off\n4.7: on"), BandAnswer)

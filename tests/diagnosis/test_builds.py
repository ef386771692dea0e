"""A sheet whose values may be one of a few: one reading settles which build it is."""

from __future__ import annotations

import numpy as np
import pytest

import backprobe as bp
from backprobe.diagnosis.builds import splitting_builds
from backprobe.diagnosis.ranking import rank_readings
from backprobe.report.data import answer_data
from backprobe.report.schemas import SCHEMAS
from backprobe.report.words import answer_text
from tests.cli.helpers import misfits
from tests.sheet.open_builds import FEED, sheet_text

STATE = "state: key on, gate shut, lever raise, all plugged\n"
DEAD = STATE + "lift dead\n"


@pytest.fixture(scope="module")
def engine() -> bp.Engine:
    return bp.Engine(bp.parse_sheet(sheet_text("4.5, 7 or 9.5 V")))


def shares(answer: bp.Answer) -> dict[str, float]:
    return {b.choices[0][1]: b.probability for b in answer.builds}


def test_before_any_reading_the_shares_are_those_of_the_sheet() -> None:
    sheet = bp.parse_sheet(sheet_text("{one of: [4.5 V, 7 V], shares: [1, 3]}"))
    assert shares(bp.rank(sheet, "")) == pytest.approx({"7 V": 0.75, "4.5 V": 0.25})


def test_one_reading_of_the_feed_settles_it(engine: bp.Engine) -> None:
    answer = bp.rank(engine, DEAD + "C2-1 to battery-: 6.97 V")
    assert answer.builds[0].choices == ((FEED, "7 V"),)
    assert answer.builds[0].probability > 0.98
    assert answer.engine.sheet.parts["controller"].pins["feed"].values["volts"].nominal == 7.0
    assert "Build: feed volts: 7 V (" in answer_text(answer)


def test_a_reading_that_all_builds_explain_leaves_them_open(engine: bp.Engine) -> None:
    answer = bp.rank(engine, DEAD + "battery+ to battery-: 12.5 V")
    assert max(shares(answer).values()) < 0.5


def test_the_mixture_is_the_builds_weighed_by_prior_and_evidence(engine: bp.Engine) -> None:
    text = DEAD + "C2-1 to battery-: 6.4 V"
    answer = bp.rank(engine, text)
    readings = bp.parse_readings(text, engine.sheet)
    alone = [rank_readings(bp.Engine(b.sheet), readings) for b in engine.sheet.builds]
    evidence = np.exp(np.array([a.log_evidence for a in alone]))
    weight = evidence / evidence.sum()
    assert [b.probability for b in answer.builds] == pytest.approx(sorted(weight, reverse=True))
    name = answer.suspects[0].name
    chance = sum(
        w * next((s.probability for s in a.suspects if s.name == name), 0.0)
        for w, a in zip(weight, alone, strict=True)
    )
    assert answer.suspects[0].probability == pytest.approx(chance)
    assert answer.none_of_these == pytest.approx(
        sum(w * a.none_of_these for w, a in zip(weight, alone, strict=True))
    )


def test_probabilities_of_the_mixture_do_not_exceed_one(engine: bp.Engine) -> None:
    answer = bp.rank(engine, DEAD + "C2-2 to battery-: 0.02 V")
    total = sum(g.probability for g in answer.groups) + answer.as_built + answer.none_of_these
    assert 0.9 < total < 1 + 1e-9
    names = [s.name for s in answer.suspects]
    assert len(names) == len(set(names))


def test_while_in_doubt_a_check_settles_the_build(engine: bp.Engine) -> None:
    answer = bp.rank(engine, DEAD + "battery+ to battery-: 12.5 V")
    split = splitting_builds(answer)
    assert split is not None
    assert {f"{FEED} {v}" for v in ("4.5 V", "7 V", "9.5 V")} <= {n for o in split.outcomes for n in o.means}
    assert split.words() in [c.words() for c in bp.next_checks(answer)[:2]]
    settled = bp.rank(engine, DEAD + "C2-1 to battery-: 6.97 V")
    means = {n for c in bp.next_checks(settled) for o in c.outcomes for n in o.means}
    assert not any(n.startswith(FEED) for n in means)


def test_what_a_check_may_show_covers_every_build_in_question(engine: bp.Engine) -> None:
    answer = bp.rank(engine, DEAD + "battery+ to battery-: 12.5 V")
    inner = [
        c for c in bp.next_checks(answer) if any("gate switch" in n for o in c.outcomes for n in o.means)
    ]
    signal = next(c for c in inner if c.candidate.kind == "volts")
    assert sum(o.chance for o in signal.outcomes) == pytest.approx(1)
    for volts in (4.5, 7.0, 9.5):
        # A sound feed seen through a sound gate, whichever lead is on it: what the sheet says of that build.
        assert any(o.low <= s * volts <= o.high for o in signal.outcomes for s in (1, -1)), volts


def test_a_sheet_without_alternatives_is_ranked_as_ever() -> None:
    sheet = bp.parse_sheet(sheet_text("7 V"))
    text = DEAD + "C2-2 to battery-: 0.02 V"
    answer = bp.rank(sheet, text)
    plain = rank_readings(bp.Engine(sheet), bp.parse_readings(text, sheet))
    assert answer.builds == ()
    assert [(s.name, s.probability) for s in answer.suspects] == [
        (s.name, s.probability) for s in plain.suspects
    ]


def test_engines_of_the_builds_are_kept(engine: bp.Engine) -> None:
    assert engine.builds is engine.builds
    assert engine.builds[0] is engine
    assert len(engine.builds) == 3


def test_json_fits_its_schema(engine: bp.Engine) -> None:
    answer = bp.rank(engine, DEAD + "C2-1 to battery-: 6.97 V")
    data = answer_data(answer, bp.next_checks(answer))
    assert not misfits(data, SCHEMAS["rank"])
    assert data["builds"][0]["values"] == {FEED: "7 V"}  # type: ignore[index, call-overload]


def test_a_plan_covers_all_builds(engine: bp.Engine) -> None:
    plan = bp.plan(engine, DEAD, depth=2, steps=3)
    assert plan.steps
    assert plan.minutes < plan.without

"""The pocket card in a real browser, opened from disk with the network cut, against the engine."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page

import backprobe as bp
from backprobe.demo.story import NAMES, demo_jobs, demo_sheets
from backprobe.diagnosis.answer import Answer
from backprobe.diagnosis.cautions import CRANKS, MOVES
from backprobe.diagnosis.checks import candidate_setups
from backprobe.diagnosis.fit import HOPELESS
from backprobe.diagnosis.scene import MOST
from backprobe.readings.lines import context_after, parse_reading
from backprobe.readings.model import Reading
from backprobe.report.pocket.tables import setup_key
from tests.browser.conftest import Watched, open_file
from tests.browser.pocket_cases import Case, as_kept
from tests.sheet.kinds.test_latch import ARMED
from tests.sheet.open_builds import sheet_text

CASES = 7
WITHIN = 0.01
"""Absolute difference of probabilities that a card may have from the engine [1]."""
EDGE = 0.025
"""Most that a fault may have which only one of the two kept: the last of more alike than are kept [1]."""
EXTRA = {"armed": ARMED, "builds": sheet_text("5, 8 or 10 V")}

READ = """lines => {
  const a = pocket.rank(lines), checks = pocket.next(a, 4);
  return {
    found: a.first.found.map(e => [e.mode, e.slip, e.weight]),
    suspects: a.groups.flatMap(g => g.suspects.map(s => [s.name, s.probability])),
    none: a.none, laptop: a.laptop, builds: a.builds.map(b => b.share),
    setups: candidateSetups(card, a.all).map(setupKey),
    checks: checks.map(x => ({ kind: x.kind, red: x.red && x.red.name, black: x.black && x.black.name,
      part: x.part, setup: setupKey(x.setup), bits: x.bits, minutes: x.minutes, cautions: x.cautions })),
  };
}"""


@pytest.fixture(scope="session")
def engines() -> Mapping[str, bp.Engine]:
    """The engines of all sheets that are tested."""
    sheets = {**demo_sheets(), **{name: bp.parse_sheet(text) for name, text in EXTRA.items()}}
    return {name: bp.Engine(sheet) for name, sheet in sheets.items()}


@pytest.fixture(scope="session")
def cards(engines: Mapping[str, bp.Engine], tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Path]:
    """Their cards on disk."""
    folder = tmp_path_factory.mktemp("cards")
    for name, engine in engines.items():
        (folder / f"{name}.html").write_text(bp.pocket(engine), encoding="utf-8")
    return {name: folder / f"{name}.html" for name in engines}


def opened(phone: Watched, card: Path) -> Page:
    """A card, ready."""
    page = open_file(phone, card)
    ready(page, 0)
    return page


def ready(page: Page, count: int) -> None:
    """Wait until a card has reckoned with so many readings."""
    page.wait_for_selector(f"body[data-ready='{count}']")


def quiet(phone: Watched) -> None:
    """Nothing was asked for but the file itself, and nothing was complained of."""
    assert phone.said == []
    assert [url for url in phone.asked if not url.startswith("file:")] == []
    assert len(phone.asked) == 1


def shares(weights: Mapping[int, float]) -> dict[int, float]:
    """Posterior by mode from log weights; -1 is the sound circuit."""
    total = float(np.logaddexp.reduce(list(weights.values())))
    return {mode: float(np.exp(w - total)) for mode, w in weights.items()}


def by_engine(answer: Answer) -> dict[int, float]:
    """Posterior over single faults that take every reading as read, by the engine."""
    x, mode_of = answer.explanations, answer.engine.catalogue.mode_of
    return shares(
        {
            (int(mode_of[rows[0]]) if rows else -1): float(weight)
            for rows, slip, weight in zip(x.rows, x.slip, x.log_weight, strict=True)
            if len(rows) <= 1 and slip < 0
        }
    )


def believed(answer: Answer) -> bool:
    """Whether any single fault that takes every reading as read is within sight of the best explanation.

    The engine does not follow the others to their end: they carry no belief at all.
    """
    x = answer.explanations
    plain = [w for rows, s, w in zip(x.rows, x.slip, x.log_weight, strict=True) if len(rows) <= 1 and s < 0]
    return max(plain, default=-np.inf) > float(x.log_weight.max()) - HOPELESS


def singles_only(answer: Answer) -> bool:
    """Whether the engine found nothing to gain from several faults at once, in any build."""
    answers = [b.answer for b in answer.builds] or [answer]
    return all(len(rows) <= 1 for a in answers for rows in a.explanations.rows)


def compare(engine: bp.Engine, readings: list[Reading], told: dict[str, Any]) -> None:
    """The card's posterior, suspects and next check beside the engine's."""
    lines = [r.text for r in readings]
    answer = bp.rank(engine, readings)
    mine, theirs = by_engine(answer), shares({m: w for m, slip, w in told["found"] if slip < 0})
    for mode in (mine.keys() | theirs.keys()) if believed(answer) else ():
        if mode in mine and mode in theirs:
            assert theirs[mode] == pytest.approx(mine[mode], abs=WITHIN), lines
        else:
            # Where more look alike than are kept, the last digits decide which is left out.
            assert mine.get(mode, theirs.get(mode, 1.0)) < EDGE, lines
    first, other = max(mine, key=mine.__getitem__), max(theirs, key=theirs.__getitem__)
    assert (
        not believed(answer) or first == other or mine.get(other, 0.0) == pytest.approx(mine[first], abs=1e-6)
    ), lines
    same = {setup_key(s) for s in candidate_setups(engine.sheet, answer) if not s.attached}
    assert set(told["setups"]) == same, lines
    if singles_only(answer) and mine.keys() == theirs.keys():
        compare_whole(answer, told, lines)


def compare_whole(answer: Answer, told: dict[str, Any], lines: list[str]) -> None:
    """Everything, where single faults are all there is."""
    suspects = dict(told["suspects"])
    for suspect in answer.suspects:
        assert suspects.get(suspect.name, 0.0) == pytest.approx(suspect.probability, abs=WITHIN), lines
    assert told["none"] == pytest.approx(answer.none_of_these, abs=WITHIN), lines
    known = [
        c
        for c in bp.next_checks(answer, 16)
        if c.candidate.kind in {"volts", "ohms", "looked"} and not c.candidate.setup.attached
    ]
    for check, other in zip(known[:1], told["checks"], strict=False):
        c = check.candidate
        place = (c.kind, c.red and c.red.name, c.black and c.black.name, c.part, setup_key(c.setup))
        if place == tuple(other[k] for k in ("kind", "red", "black", "part", "setup")):
            # Which of many ties carry a cause is decided by last digits, and its information with them.
            wide = EDGE if len(answer.suspects) <= MOST else 2 * EDGE
            assert other["bits"] == pytest.approx(check.information, rel=wide), lines
            assert other["minutes"] == pytest.approx(check.minutes), lines
            # In a setup that a card has not worked out it warns of movement rather than not.
            assert set(check.cautions) <= set(other["cautions"]), lines
            assert set(other["cautions"]) - set(check.cautions) <= {MOVES, CRANKS}, lines
        else:
            # Two dozen causes steer a check; where more are alike, which ones is decided by the last digits.
            assert len(answer.suspects) > MOST or other["bits"] / other["minutes"] == pytest.approx(
                check.worth, rel=WITHIN
            ), lines


@pytest.mark.slow
@pytest.mark.parametrize("name", [*NAMES, *EXTRA])
def test_answers_as_the_engine(
    name: str, phone: Watched, engines: Mapping[str, bp.Engine], cards: Mapping[str, Path]
) -> None:
    """Random single faults, one to six random readings of each: the same posterior within one per cent."""
    engine, random = engines[name], Random(f"pocket {name}")
    page = opened(phone, cards[name])
    for _ in range(CASES):
        readings = Case(engine, random).readings()
        told = page.evaluate(READ, [as_kept(r) for r in readings])
        if engine.builds:
            answer = bp.rank(engine, readings)
            mine = {b.choices: b.probability for b in answer.builds}
            assert sorted(told["builds"]) == pytest.approx(sorted(mine.values()), abs=WITHIN)
            if singles_only(answer):
                suspects = dict(told["suspects"])
                for s in answer.suspects:
                    assert suspects.get(s.name, 0.0) == pytest.approx(s.probability, abs=EDGE)
        else:
            compare(engine, readings, told)
    quiet(phone)


@pytest.mark.slow
@pytest.mark.parametrize("story", demo_jobs(), ids=lambda s: s.name)
def test_a_job_of_the_demo(story: Any, phone: Watched, tmp_path: Path) -> None:
    """A whole job step by step; where the engine needs more than one fault the card sends to the laptop."""
    engine = bp.Engine(story.sheet, story.circumstances)
    card = tmp_path / "card.html"
    card.write_text(bp.pocket(engine), encoding="utf-8")
    page = opened(phone, card)
    readings: list[Reading] = []
    for step in story.steps:
        readings.append(parse_reading(step.line, engine.sheet, context_after(readings)))
        told = page.evaluate(READ, [as_kept(r) for r in readings])
        compare(engine, readings, told)
        best = bp.rank(engine, readings).explanations
        leader = int(np.argmax(best.log_weight))
        if len(best.rows[leader]) > 1:
            assert told["laptop"], step.line
    quiet(phone)


def test_one_reading_by_hand(
    phone: Watched, cards: Mapping[str, Path], engines: Mapping[str, bp.Engine]
) -> None:
    """Set the state, enter a complaint and a number with a decimal comma, undo, reload, take it as text."""
    page = opened(phone, cards["sprayer"])
    for control, position in (("key", "on"), ("gate", "shut"), ("boom button", "pressed")):
        page.get_by_label(control, exact=True).select_option(position)
    page.get_by_label("What", exact=True).select_option("works")
    page.get_by_role("button", name="Take it").click()
    ready(page, 1)
    page.get_by_label("What", exact=True).select_option("volts")
    page.get_by_label("Red lead on").select_option("C5-1")
    page.get_by_label("It shows").fill("6,36")
    page.get_by_role("button", name="Take it").click()
    ready(page, 2)
    text = page.locator("#text").input_value()
    assert "C5-1 to battery-: 6.36 V, key on, gate shut, boom button pressed, all plugged" in text
    readings = bp.parse_readings(text, engines["sprayer"].sheet)
    answer = bp.rank(engines["sprayer"], readings)
    headline = page.locator(".headline").inner_text()
    assert answer.groups[0].suspects[0].name in headline
    assert f"{answer.groups[0].probability:.0%}".replace("%", " %") in headline
    assert "CAUTION: Boom lowered onto its rests" in page.locator("#next").inner_text()
    page.get_by_role("button", name="Undo").click()
    ready(page, 1)
    assert "6.36" not in page.locator("#text").input_value()
    page.reload()
    ready(page, 1)
    assert "boom dead" in page.locator("#text").input_value()
    page.get_by_role("button", name="Remove all").click()
    ready(page, 0)
    assert phone.said == []
    assert all(url.startswith("file:") for url in phone.asked)


def test_what_is_no_reading_is_said(phone: Watched, cards: Mapping[str, Path]) -> None:
    """One message with the value and the remedy; nothing is taken."""
    page = opened(phone, cards["dumper"])
    said = page.get_by_role("alert")
    page.get_by_label("It shows").fill("12.4.1")
    page.get_by_role("button", name="Take it").click()
    assert "'12.4.1' is no number" in said.inner_text()
    page.get_by_label("It shows").fill("12.4")
    page.get_by_label("Red lead on").select_option("battery-")
    page.get_by_role("button", name="Take it").click()
    assert "Choose two points" in said.inner_text()
    page.get_by_label("What", exact=True).select_option("ohms")
    page.get_by_label("It shows").fill("-3")
    page.get_by_label("Red lead on").select_option("battery+")
    page.get_by_role("button", name="Take it").click()
    assert "no resistance" in said.inner_text()
    assert page.locator("#lines li").count() == 0
    quiet(phone)


def test_text_of_every_kind_is_read_by_the_engine(
    phone: Watched, cards: Mapping[str, Path], engines: Mapping[str, bp.Engine]
) -> None:
    """What the card writes, Backprobe reads again as the same readings."""
    sheet = engines["platform"].sheet
    state = {c.name: c.positions[-1] for c in sheet.controls.values()}
    place: dict[str, Any] = {"state": state, "off": ["C3"]}
    coil = {"kind": "ohms", "red": "C3-1 part side", "black": "C3-2 part side", "unit": "ohm", **place}
    lines = [
        {"kind": "volts", "red": "C2-1", "black": "battery-", "value": "240", "unit": "mV", **place},
        {**coil, "value": "OL"},
        {**coil, "value": "17.3", "zeroed": True},
        {"kind": "volts", "red": "C2-1", "black": "frame", "value": "unsteady", "unit": "V", **place},
        {"kind": "works", "subject": next(iter(sheet.functions)), "seen": "dead", **place},
        {"kind": "code", "subject": "guard input", "seen": "open", **place},
        {"kind": "fuse", "subject": "fuse F7", "seen": "good", **place},
        {"kind": "looked", "subject": "ring G5", "seen": "bad", **place},
        {"kind": "swapped", "subject": "fuse F7", "seen": "no change", **place},
    ]
    page = opened(phone, cards["platform"])
    text = page.evaluate("lines => shareText(pocket, lines, null)", lines)
    readings = bp.parse_readings(text, sheet)
    assert [r.kind for r in readings] == [line["kind"] for line in lines]
    assert all(dict(r.setup.state) == state for r in readings)
    assert all(r.setup.unplugged == {"C3"} for r in readings if r.placed)
    assert [r.seen for r in readings[4:]] == ["dead", "open", "good", "bad", "no change"]
    assert readings[0].value == pytest.approx(0.24)
    assert readings[1].over_range
    assert readings[2].leads == 0
    assert readings[3].unsteady
    quiet(phone)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_fits_a_phone_and_a_glove(scheme: Any, phone: Watched, cards: Mapping[str, Path]) -> None:
    """No sideways scrolling at 360 px, and every target at least 48 px high."""
    page = phone.page
    page.emulate_media(color_scheme=scheme)
    opened(phone, cards["sprayer"])
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    targets = page.locator("button, select, input[type=text], summary, label.tick")
    heights = [box["height"] for t in targets.all() if t.is_visible() and (box := t.bounding_box())]
    assert len(heights) > 10
    assert min(heights) >= 48
    paper, ink = page.evaluate(
        "[getComputedStyle(document.body).backgroundColor, getComputedStyle(document.body).color]"
    )
    assert (paper == "rgb(255, 255, 255)") == (scheme == "light")
    assert paper != ink
    quiet(phone)

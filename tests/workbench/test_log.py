"""Dropouts of known length, notes, companions and suspects; and the command."""

from __future__ import annotations

import re
import shlex
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

import backprobe as bp
from backprobe.errors import ReadingError
from backprobe.report.schemas import SCHEMAS
from backprobe.workbench.dropouts import (
    Dropout,
    find_dropouts,
    match_notes,
    mean_length,
    noise_of,
    poisson_rate,
    two_levels,
)
from backprobe.workbench.log import study_log
from backprobe.workbench.log_suspects import log_suspects
from backprobe.workbench.recording import Channel, Note, Recording
from tests.cli.helpers import ALL, SHEET, misfits, put, run, run_json, too_wide

PULSES = ((12.0, 0.3), (31.4, 2.2), (32.0 + 5, 0.2), (70.1, 7.5), (111.2, 1.1))
"""Labelled dropouts: when, and how long [s]."""


def recorded(
    pulses: Sequence[tuple[float, float]] = PULSES,
    *,
    steady: float = 4.93,
    away: float = 0.02,
    noise: float = 0.01,
    seconds: float = 150.0,
) -> tuple[np.ndarray, np.ndarray]:
    """A channel at 10 Hz that drops out when labelled."""
    t = np.arange(round(seconds * 10)) / 10
    inside = np.any([(t >= a - 1e-9) & (t < a + n - 1e-9) for a, n in pulses] + [t < -1], axis=0)
    x = np.where(inside, away, steady) + noise * np.random.default_rng(5).standard_normal(len(t))
    return t, np.round(x, 3)


@pytest.mark.parametrize(("steady", "away"), [(4.93, 0.02), (0.4, 4.7), (12.4, 11.6)])
def test_labelled_dropouts_are_found_to_one_value(steady: float, away: float) -> None:
    t, x = recorded(steady=steady, away=away)
    found = find_dropouts(t, x)
    assert len(found.spans) == len(PULSES)
    for span, (start, length) in zip(found.spans, PULSES, strict=True):
        # An edge lies halfway between two values, 0.05 s before the labelled one.
        assert span.start == pytest.approx(start - 0.05, abs=1e-6)
        assert span.length == pytest.approx(length, abs=1e-6)
        assert not span.cut
    assert (found.steady, found.away) == pytest.approx((steady, away), abs=0.005)
    assert found.watched == pytest.approx(149.9 - 11.3, abs=1e-6)
    assert found.rate.best == pytest.approx(5 / 138.6)
    assert found.mean_length is not None
    assert found.mean_length.best == pytest.approx(11.3 / 5)


def test_intervals_of_rate_and_mean_length_by_hand() -> None:
    # Chi-square tables: 2.5 % and 97.5 % points, 10 degrees 3.247 and 20.483; 12 degrees 23.337. [mem]
    rate = poisson_rate(5, 100.0)
    assert (200 * rate.low, 200 * rate.high) == pytest.approx((3.247, 23.337), abs=1e-3)
    mean = mean_length(5, 10.0)
    assert mean is not None
    assert (20 / mean.high, 20 / mean.low) == pytest.approx((3.247, 20.483), abs=1e-3)
    alone = mean_length(0, 4.0)
    assert alone is not None and alone.high == float("inf")
    assert mean_length(0, 0.0) is None


def test_the_stated_interval_of_the_rate_holds() -> None:
    """Poisson counts of a known rate: 95 % of the intervals hold it, at least."""
    counts = np.random.default_rng(11).poisson(7.0, 400)
    held = [poisson_rate(int(n), 100.0).low <= 0.07 <= poisson_rate(int(n), 100.0).high for n in counts]
    assert np.mean(held) >= 0.94


def test_a_steady_level_has_no_dropouts_but_an_upper_limit() -> None:
    t, x = recorded(())
    found = find_dropouts(t, x)
    assert found.spans == () and found.mean_length is None
    # No event: the upper 97.5 % limit is ln 40 = 3.689.
    assert found.rate.high * found.watched == pytest.approx(np.log(40), rel=1e-6)


def test_a_drifting_battery_is_no_dropout_and_hides_none() -> None:
    t, x = recorded(seconds=600)
    sag = -0.9 * t / 600
    found = find_dropouts(t, 8 + x + sag)
    assert [s.start for s in found.spans] == pytest.approx([a - 0.05 for a, _ in PULSES], abs=1e-6)
    assert find_dropouts(t, 12.4 + sag + 0.01 * np.random.default_rng(1).standard_normal(len(t))).spans == ()


def test_what_goes_over_for_good_is_no_dropout() -> None:
    t, x = recorded([(90.0, 100.0)])
    assert find_dropouts(t, x).spans == ()
    assert [c.kind for c in study_log(Recording("", t, (Channel("a", "V", x),))).changes[0].found] == ["step"]


def test_gaps_and_missing_values_end_a_dropout() -> None:
    t, x = recorded()
    kept = ~((t > 72) & (t < 90))
    found = find_dropouts(t[kept], x[kept])
    assert found.gaps[0] == 1
    assert found.gaps[1] == pytest.approx(18.0)
    # What was there before the gap is counted as seen, and as cut.
    (cut,) = [s for s in found.spans if s.cut]
    assert (cut.start, cut.end) == pytest.approx((70.05, 72.0))
    holes = np.where(kept, x, np.nan)
    assert find_dropouts(t, holes).spans == found.spans


def test_values_rounded_to_the_digit_have_a_noise_of_rounding() -> None:
    assert noise_of(np.repeat([5.0, 5.01, 5.0], 50)) > 1e-4
    assert two_levels(np.full(20, 5.0), 0.01) is None
    assert find_dropouts(np.arange(100.0), np.where(np.arange(100) == 50, 0.0, 5.0)).spans[0].length == 1.0


def test_notes_that_fall_together_are_told_from_those_that_do_not() -> None:
    spans = [Dropout(a, a + 1, False) for a in (20.0, 50.0, 80.0, 110.0)]
    notes = [Note(a + 0.8, "shook C4") for a in (20.0, 50.0, 80.0)] + [Note(95.0, "horn"), Note(51.0, "horn")]
    shook, horn = match_notes(notes, spans, (0.0, 200.0), within=2.0)
    # Four windows of 4 s in 200 s: 8 %; three of three 0.08^3; one of two 1 - 0.92^2.
    assert (shook.text, shook.hits) == ("shook C4", 3)
    assert shook.by_chance == pytest.approx(0.08)
    assert shook.chance == pytest.approx(0.08**3)
    assert horn.hits == 1
    assert horn.chance == pytest.approx(1 - 0.92**2)


def test_windows_that_overlap_count_once_and_no_dropouts_give_no_hits() -> None:
    spans = [Dropout(a, a + 0.1, False) for a in (20.0, 21.0, 22.0)]
    (hit,) = match_notes([Note(5.0, "x")], spans, (0.0, 100.0), within=3.0)
    assert hit.by_chance == pytest.approx(0.08)
    (none,) = match_notes([Note(5.0, "x")], [], (0.0, 100.0))
    assert (none.hits, none.by_chance, none.chance) == (0, 0.0, 1.0)


def pair(*, together: bool) -> Recording:
    """A signal that drops out, and a feed that does so too or stays."""
    t, x = recorded()
    feed = 5.0 + 0.01 * np.random.default_rng(8).standard_normal(len(t))
    if together:
        feed = np.where(x < 1, 0.1, feed)
    return Recording("", t, (Channel("signal", "V", x), Channel("feed", "V", feed)))


@pytest.mark.parametrize("together", [True, False])
def test_the_other_channel_moves_or_stays(together: bool) -> None:
    study = study_log(pair(together=together))
    found = {c.channel: c.verdict for c in study.companions if c.what == "dropouts"}
    assert found == ({"signal": "together", "feed": "together"} if together else {"signal": "alone"})


def test_channels_of_other_units_are_not_compared() -> None:
    both = pair(together=True)
    mixed = Recording("", both.times, (both.channels[0], Channel("amps", "A", both.channels[1].values)))
    assert study_log(mixed).companions == ()


def test_suspects_explain_both_levels() -> None:
    study = study_log(pair(together=False))
    found = log_suspects(bp.parse_sheet(SHEET), study.own, "C2-2", state=ALL)
    assert found.as_built == "steady"
    assert found.steady.fits and not found.away.fits
    assert found.steady.sound == pytest.approx(5.0, abs=0.02)
    names = {s.name: s for s in found.suspects}
    assert not names["gate switch: does not close"].lasting
    assert names["gate switch: wrong contact set fitted (NO for NC)"].lasting
    assert all(abs(s.predicted - 0.02) < 0.8 for s in found.suspects)
    assert sum(s.probability for s in found.suspects) <= 1.0
    # With the wire to the switch whole, nothing in the ground run makes the signal low.
    assert not any("G2" in n for n in names)


def test_the_level_that_is_as_built_need_not_be_the_usual_one() -> None:
    t, x = recorded([(10.0, 120.0), (131.0, 10.0)], steady=4.95, away=0.02)
    found = log_suspects(bp.parse_sheet(SHEET), find_dropouts(t, x), "C2-2", state=ALL)
    assert found.as_built == "away"
    t, x = recorded(steady=3.1, away=0.02)
    assert log_suspects(bp.parse_sheet(SHEET), find_dropouts(t, x), "C2-2", state=ALL).as_built == "neither"


def test_suspects_need_two_levels_and_a_state() -> None:
    sheet = bp.parse_sheet(SHEET)
    with pytest.raises(ReadingError, match="no two levels"):
        log_suspects(sheet, find_dropouts(*recorded(())), "C2-2", state=ALL)
    with pytest.raises(ReadingError, match="does not say where key was"):
        log_suspects(sheet, find_dropouts(*recorded()), "C2-2")
    with pytest.raises(ReadingError):
        log_suspects(sheet, find_dropouts(*recorded()), "C9-9", state=ALL)


def table(*, clock: bool = False) -> str:
    """A recording as a meter writes it."""
    t, x = recorded()
    notes = {125: "shook C2", 320: "shook C2", 900: "horn"}
    stamp = [f"14:0{int(s // 60)}:{s % 60:06.3f}" if clock else f"{s:.1f}" for s in t]
    rows = (
        f"{a},{b:.3f},{5 + 0.01 * (i % 3):.2f},{notes.get(i, '')}"
        for i, (a, b) in enumerate(zip(stamp, x, strict=True))
    )
    return "time,signal [V],feed [V],note\n" + "\n".join(rows) + "\n"


CALLS = [
    "log seat.csv",
    "log clock.csv --channel feed",
    f'log seat.csv --notes notes.txt --sheet sprayer.yaml --red C2-2 --state "{ALL}"',
]


@pytest.mark.parametrize("call", CALLS)
def test_text_fits_and_json_has_its_schema(
    call: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    put(tmp_path, "sprayer.yaml", SHEET)
    put(tmp_path, "seat.csv", table())
    put(tmp_path, "clock.csv", table(clock=True))
    put(tmp_path, "notes.txt", "70.0 s: drove over the curb  # twice\n\n111.5: drove over the curb\n")
    words = shlex.split(call)
    result = run(*words)
    assert result.exit_code == 1, result.stderr
    assert "5 dropouts" in result.stdout
    assert "hardly chance" in " ".join(result.stdout.split()) or "feed" in call
    assert not too_wide(result.stdout)
    assert not misfits(run_json(*words), SCHEMAS["log"])


def test_a_quiet_recording_exits_with_0_and_standard_input_is_read() -> None:
    t, x = recorded(())
    rows = "\n".join(f"{a:.1f};{b:.3f}".replace(".", ",") for a, b in zip(t, x, strict=True))
    result = run("log", "-", stdin=f"time [s];signal [V]\n{rows}\n")
    assert result.exit_code == 0, result.stderr
    assert "no dropouts" in result.stdout
    assert "one false alarm in" in " ".join(result.stdout.split())


@pytest.mark.parametrize(
    ("call", "says"),
    [
        ("log", "is missing"),
        ("log nofile.csv", "cannot be read"),
        ("log seat.csv --channel valve", "is not in the recording"),
        ("log seat.csv --within 900", "is no time to look within"),
        ("log seat.csv --red C2-2", "--sheet"),
        ("log seat.csv --sheet sprayer.yaml", "--red"),
        ("log seat.csv --sheet sprayer.yaml --red C2-2", "does not say where key was"),
        ("log seat.csv --notes bad.txt", "bad.txt:2"),
        ("log bad.csv", "bad.csv:4: signal: 'volts?' is no number"),
        ("log latin.csv", "is not UTF-8"),
    ],
)
def test_wrong_use_is_one_message_and_exit_code_2(
    call: str, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    put(tmp_path, "sprayer.yaml", SHEET)
    put(tmp_path, "seat.csv", table())
    put(tmp_path, "bad.csv", "time,signal\n0,1\n1,1\n2,volts?\n")
    put(tmp_path, "bad.txt", "12 s: fine\nat noon: not fine\n")
    (tmp_path / "latin.csv").write_bytes(b"time,\xb5\n0,1\n1,2\n")
    result = run(*shlex.split(call))
    assert result.exit_code == 2
    assert says in result.stderr
    assert "Traceback" not in result.stderr


def test_examples_of_the_help_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from backprobe.cli.commands.log import COMMAND

    monkeypatch.chdir(tmp_path)
    put(tmp_path, "seat.csv", table())
    put(tmp_path, "shaken.txt", "12.5 s: shook C2\n")
    put(
        tmp_path,
        "sprayer.yaml",
        SHEET.replace("lever", "boom button")
        .replace("rest, raise", "released, pressed")
        .replace("is raise", "is pressed"),
    )
    examples = re.findall(r"Example: backprobe (.*)", COMMAND.epilog or "")
    assert len(examples) == 2
    for example in examples:
        result = run(*shlex.split(example))
        assert result.exit_code == 1, f"{example}: {result.stderr}"

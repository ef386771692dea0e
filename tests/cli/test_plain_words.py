"""What a mechanic types wrong, or reads: no parser's terms, no exponents, no numbers that say nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.helpers import put, run


@pytest.mark.parametrize(
    ("args", "least", "most"),
    [
        (("plan", "x.yaml", "--depth"), 1, 8),
        (("plan", "x.yaml", "--steps"), 1, 40),
        (("next", "x.yaml", "--count"), 1, 40),
        (("stand-in", "--feed", "8.6", "--band", "4.8..6.6", "--count"), 1, 40),
        (("serve", "--port"), 0, 65535),
    ],
)
@pytest.mark.parametrize("typed", ["x", "1.5", "-1", "70000", ""])
def test_a_number_that_does_not_fit_is_refused_in_words(
    args: tuple[str, ...], least: int, most: int, typed: str
) -> None:
    refused = run(*args, typed)
    assert refused.exit_code == 2
    assert f"'{typed}' is no whole number from {least} to {most}." in refused.stderr
    assert "range" not in refused.stderr


def test_drains_and_rates_are_written_out(tmp_path: Path) -> None:
    # 60 Ah / 20 mA = 3000 h = 125 days; one dropout in half a second is 7200 an hour.
    said = run("sanity", "60 Ah battery with 20 mA is flat in 30 days").stdout
    assert "60 Ah / 20 mA = 3000 h = 125 days" in said
    table = "time [s],signal [V]\n0,5\n0.1,5\n0.2,0.1\n0.3,5\n0.4,5\n0.5,5\n0.6,5\n"
    told = run("log", put(tmp_path, "seat.csv", table))
    assert told.exit_code == 1
    assert "7200 an hour" in told.stdout
    assert "e+0" not in said + told.stdout


def test_a_recording_of_less_than_three_seconds_is_studied_all_the_same(tmp_path: Path) -> None:
    table = "time [s],signal [V],note\n0,5,\n0.1,5,\n0.2,0.1,wiggled C2\n0.3,5,\n0.4,5,\n0.5,5,\n0.6,5,\n"
    file = put(tmp_path, "seat.csv", table)
    assert "wiggled C2 (0.20 s): 1 of 1 within 60 ms" in run("log", file).stdout
    refused = run("log", file, "--within", "3")
    assert refused.exit_code == 2
    assert "shorter than the recording" in refused.stderr


def test_pins_of_which_nothing_was_read_are_not_told_apart() -> None:
    told = run("pin-out")
    assert told.exit_code == 0
    assert "%" not in told.stdout
    assert "7.20 V" not in told.stdout
    assert "1. A with 1k to ground ..." in told.stdout
    assert "bit" not in told.stdout


@pytest.mark.parametrize("more", [(), ("--part",)])
def test_a_typed_reading_on_a_pin_is_named_as_typed(more: tuple[str, ...], tmp_path: Path) -> None:
    assert run("pin-out", *more, "foo").stderr.startswith("as typed:1: reading: 'foo' is no")
    file = put(tmp_path, "pins.txt", "foo\n")
    assert f"{file}:1: reading: 'foo' is no" in run("pin-out", *more, file).stderr


def test_where_current_flows_no_run_is_said_to_lose_nothing() -> None:
    told = " ".join(
        run("budget", "battery+ > fuse F1 5 A > key > relay coil K1 84 ohm > frame").stdout.split()
    )
    # The strap to the battery has about 1 mohm, and 0.17 A through it.
    assert "battery return: under 1 mV at 1" in told
    assert "battery ground strap, under 1 mV" in told
    assert ": 0 V at 1" not in told

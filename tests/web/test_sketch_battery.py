"""A battery typed at the begin of a run: the job is on a machine of its volts, or none is opened."""

from __future__ import annotations

import re

import pytest

from backprobe.jobs.job import Job
from backprobe.workbench.sanity import sanity

from .sketch_browser import Browser

RUN = "fuse F1 5 A > seat switch > coil Y1 31 ohm > frame"


def started(browser: Browser, run: str) -> str:
    """Type a run on the first page and start its job; the address that comes back."""
    return sent(browser, {"run": run, "from": "typed"})


def sent(browser: Browser, fields: dict[str, str], sheet: str = "") -> str:
    token = re.search(r'name="token" value="(\w+)"', browser.page.text)
    assert token
    files = {"sheet": ("mower.yaml", sheet.encode(), "text/plain")} if sheet else None
    browser.page = browser.client.post("/jobs", data={"token": token[1], **fields}, files=files)
    return str(browser.page.url)


def test_a_job_typed_with_its_battery_is_on_a_machine_of_its_volts() -> None:
    browser = Browser()
    address = started(browser, f"battery 24 V > {RUN}")
    sheet = Job.open(browser.store, address.rpartition("/")[2]).sheet
    assert sheet.system_volts == 24
    assert not [f for f in sanity(sheet) if not f.holds and f.field == "parts.battery.volts"]
    assert "beside a system of" not in browser.text


@pytest.mark.parametrize(
    ("language", "said"),
    [
        ("en", "'80 V' does not fit a system of 12 V. Correct one of them"),
        ("de", "'80 V' passt nicht zu einem Bordnetz von 12 V. Eines davon berichtigen"),
    ],
)
def test_a_battery_of_no_machine_is_asked_about_where_it_was_typed(language: str, said: str) -> None:
    browser = Browser(language)
    started(browser, f"battery 80 V > {RUN}")
    assert said in browser.text
    assert 'value="battery 80 V &gt; fuse' in browser.page.text
    assert not browser.store.jobs()


def test_a_sheet_file_with_another_machines_battery_opens_no_job() -> None:
    browser = Browser()
    head, battery = "sheet: M\nsystem: 12 V\n", "parts: {battery: {volts: 25.1 V}}\n"
    sheet = f"{head}{battery}runs: {{main: [battery+, coil Y1, frame]}}\n"
    sent(browser, {"from": "typed"}, sheet)
    assert "'25.1 V' does not fit a system of 12 V" in browser.text
    assert not browser.store.jobs()
    sent(browser, {"from": "typed"}, sheet.replace("12 V", "24 V"))
    assert len(browser.store.jobs()) == 1


def test_a_battery_written_into_a_sketch_sets_its_volts() -> None:
    browser = Browser()
    browser.tap("change:main:0", item=f"battery 24 V > {RUN}")
    assert "system: 24 V" in browser.draft.text
    assert "Nothing is wrong with it." in browser.text
    browser.tap("job", dead="coil Y1", **{"control:seat": "seated"})
    assert Job.open(browser.store, str(browser.page.url).rpartition("/")[2]).sheet.system_volts == 24


def test_a_sketch_that_says_two_volts_starts_no_job() -> None:
    browser = Browser()
    browser.tap("text", text=f"sheet: M\nsystem: 12 V\nruns:\n  main: [battery 24 V > {RUN}]\n")
    browser.tap("job", dead="coil Y1", **{"control:seat": "seated"})
    assert "'24 V' does not fit a system of 12 V" in browser.text
    assert not browser.store.jobs()

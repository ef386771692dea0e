"""The pocket card as a file: alone, small, honest about what it was made from, and no trap for odd names."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from pathlib import Path
from typing import Any

import pytest

import backprobe as bp
from backprobe.demo.story import NAMES, demo_sheets
from backprobe.readings.points import reachable_points
from backprobe.report.pocket.tables import settled_table, setup_key, setups_at_hand
from backprobe.report.schemas import SCHEMAS
from tests.cli.helpers import SHEET, SKETCH, misfits, put, run, run_json

ENGINE = bp.Engine(bp.parse_sheet(SHEET))
CARD = bp.pocket(ENGINE)


def data_of(page: str) -> dict[str, Any]:
    """The tables inside a page."""
    found = re.search(r'<script type="application/json" id="card">(.*?)</script>', page, re.S)
    assert found
    data: dict[str, Any] = json.loads(found[1])
    return data


def test_it_stands_alone() -> None:
    """Nothing on the page is fetched from anywhere, and the policy would not let it be."""
    assert not re.search(r"""(?:src|href|action|url|import|fetch|XMLHttpRequest)\s*[=(]""", CARD)
    assert "http://" not in CARD
    assert "https://" not in CARD
    assert "default-src &#x27;none&#x27;" in CARD


def test_the_policy_allows_exactly_this_script_and_style() -> None:
    """The digests in the policy are those of what stands between the tags."""
    for tag in ("script", "style"):
        text = re.search(rf"<{tag}>(.*?)</{tag}>", CARD, re.S)
        assert text
        digest = base64.b64encode(hashlib.sha256(text[1].encode()).digest()).decode()
        assert f"{tag}-src &#x27;sha256-{digest}&#x27;" in CARD


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_below_three_megabytes(name: str) -> None:
    """Small enough to be mailed."""
    assert len(bp.pocket(demo_sheets()[name]).encode()) < 3_000_000


def test_the_same_sheet_gives_the_same_card() -> None:
    """No date, no chance: a card can be compared with another."""
    assert bp.pocket(bp.parse_sheet(SHEET)) == CARD


def test_settled_beforehand_is_what_the_engine_settles() -> None:
    """Of every fault in every setup at hand, how the devices stand."""
    table = settled_table(ENGINE)
    for setup in setups_at_hand(ENGINE):
        rows = base64.b64decode(table["rows"][setup_key(setup)])
        found = ENGINE.singles(setup)
        assert len(rows) == ENGINE.catalogue.count
        for row, number in enumerate(rows):
            pattern = [int(x) for x in table["patterns"][number]]
            assert pattern[:-1] == found.modes[row].astype(int).tolist()
            assert bool(pattern[-1]) == bool(found.chatters[row])


def test_points_are_those_that_a_lead_can_reach() -> None:
    """With anything unplugged, in the same order."""
    points = data_of(CARD)["points"]
    for off in ((), ("C2",), ("C1", "C3")):
        here = [p["name"] for p in points if not p["plug"] or bool(p["side"]) == (p["plug"] in off)]
        assert here == [p.name for p in reachable_points(ENGINE.sheet, off)]


def test_odd_names_stay_text() -> None:
    """A name with signs of markup in it is shown, not run."""
    odd = "Lift </script><script>alert(1)</script> & <b>old</b>"
    page = bp.pocket(bp.parse_sheet(SHEET.replace("Orchard mast lift, gate circuit", f"'{odd}'")))
    assert page.count("<script") == CARD.count("<script")
    assert page.count("</script") == CARD.count("</script")
    assert data_of(page)["sheet"] == odd
    assert "<b>old" not in page


def test_circumstances_shift_what_is_likely() -> None:
    """Wet makes contacts likelier on the card as in the engine."""
    wet = bp.Engine(ENGINE.sheet, ["wet"])
    found = data_of(bp.pocket(ENGINE.sheet, circumstances=["wet"]))
    assert found["builds"][0]["logPrior"] == pytest.approx(wet.catalogue.log_prior.tolist())
    with pytest.raises(ValueError, match="windy"):
        bp.pocket(ENGINE.sheet, circumstances=["windy"])


# --- the colours -----------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """Relative luminance of ``#rgb`` or ``#rrggbb`` (WCAG 2.2, relative luminance) [mem]."""
    digits = colour.lstrip("#")
    digits = "".join(2 * d for d in digits) if len(digits) == 3 else digits
    parts = [int(digits[k : k + 2], 16) / 255 for k in (0, 2, 4)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2, contrast ratio) [mem]."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_yardstick_of_contrast() -> None:
    """Black on white is 21 to 1; the grey #767676 on white is the known 4.54."""
    assert contrast("#000", "#fff") == pytest.approx(21)
    assert contrast("#767676", "#fff") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("scheme", [0, 1], ids=["light", "dark"])
def test_text_has_a_contrast_of_seven(scheme: int) -> None:
    """Ink, links and cautions, on paper and on what lies under them."""
    block = re.findall(r":root \{(.*?)\}", CARD, re.S)[scheme]
    colour = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]+)", block))
    pairs = [
        ("ink", "paper"),
        ("act", "paper"),
        ("on-act", "act"),
        ("ink", "warn-paper"),
        ("ink", "wrong-paper"),
    ]
    for text, ground in pairs:
        assert contrast(colour[text], colour[ground]) >= 7, (text, ground)


# --- the command ------------------------------------------------------------------------------


def test_command_writes_a_card_and_leaves_another_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file is named after the sheet; one that is there stays unless it is to be replaced."""
    monkeypatch.chdir(tmp_path)
    sheet = put(tmp_path, "lift.yaml", SHEET)
    made = run_json("pocket", sheet)
    assert not misfits(made, SCHEMAS["pocket"])
    card = tmp_path / "orchard-mast-lift-gate-circuit-pocket.html"
    assert made["file"] == card.name
    assert made["bytes"] == card.stat().st_size
    assert card.read_text(encoding="utf-8") == CARD
    card.write_text("mine", encoding="utf-8")
    again = run("pocket", sheet)
    assert again.exit_code == 2
    assert "exists already" in again.stderr
    assert "--replace" in again.stderr
    assert card.read_text(encoding="utf-8") == "mine"
    told = run("pocket", sheet, "--replace")
    assert told.exit_code == 0
    assert card.read_text(encoding="utf-8") == CARD
    assert "laptop" in told.stdout


def test_command_reads_and_writes_the_standard_streams() -> None:
    """A sheet from standard input, the card to standard output; JSON cannot be there as well."""
    made = run("pocket", "-", "-o", "-", stdin=SHEET)
    assert made.exit_code == 0
    assert made.stdout.rstrip("\n") == CARD.rstrip("\n")
    both = run("pocket", SKETCH, "-o", "-", "--json")
    assert both.exit_code == 2
    assert "--json" in both.stderr


def test_command_names_what_it_cannot_write(tmp_path: Path) -> None:
    """One line with the file and the remedy."""
    made = run("pocket", SKETCH, "-o", str(tmp_path / "nowhere" / "card.html"))
    assert made.exit_code == 2
    assert "cannot be written" in made.stderr
    assert "Traceback" not in made.stderr

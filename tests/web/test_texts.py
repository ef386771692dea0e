"""Every text of the pages has its German; what the engine says is known by its sentences."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po as read_po_by_babel

import backprobe.web
from backprobe.diagnosis.cautions import BEFORE_UNPLUGGING, CRANKS, MOVES, OHMS_DEAD, STEEL
from backprobe.report.controller_words import CONTROLLER
from backprobe.web.texts import FOLDER, pick_language, read_po, texts
from tests.web.helpers import DEAD, at_work, words

WEB = Path(backprobe.web.__file__).parent
GERMAN = texts("de")
MESSAGES = sorted(
    {
        message if isinstance(message, str) else message[0]
        for _, _, message, *_ in extract_from_dir(
            str(WEB),
            [("**.py", "python"), ("**/templates/**.html", "jinja2.ext.babel_extract")],
            keywords={"_": None, "gettext": None, "N_": None, "ngettext": (1, 2)},
        )
    }
)
FILLED = sorted(
    {
        text
        for _, _, message, *_ in extract_from_dir(
            str(WEB / "templates"),
            [("**.html", "jinja2.ext.babel_extract")],
            keywords={"_": None, "gettext": None, "ngettext": (1, 2)},
        )
        for text in ([message] if isinstance(message, str) else message)
    }
)
"""Texts of the templates: a gap in them is filled when they are shown, as ``%`` does in Python."""
GAP = re.compile(r"%\(\w+\)s|\{\w*\}|%%")


def test_every_text_has_its_german() -> None:
    assert len(MESSAGES) > 100
    assert not [m for m in MESSAGES if not all(GERMAN.entries.get(m, ("",)))], "add them to web/locale/de"


def test_the_german_of_a_text_has_the_same_gaps() -> None:
    for message, forms in GERMAN.entries.items():
        for form in forms:
            # With a plural the number may be missing in the form for one.
            assert set(GAP.findall(form)) ^ set(GAP.findall(message)) <= (
                {"%(num)s"} if len(forms) > 1 else set()
            ), message


def test_no_per_cent_sign_of_a_template_is_eaten() -> None:
    """``100 % sure`` would lose its ``% s``: a sign that is meant is written twice, in German too."""
    assert len(FILLED) > 100
    for message in FILLED:
        for text in (message, *GERMAN.entries.get(message, ())):
            assert "%" not in re.sub(r"%\(\w+\)s|%%", "", text), text


def test_a_share_is_explained_in_words() -> None:
    with at_work(DEAD, "C4-1 to battery-: 12.3 V") as (client, job):
        page = words(client.get(f"/job/{job.record.id}/suspects").text).replace("\u00a0", " ")
        assert "Where a % stands, it says how likely just this was to be seen." in page


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*/*.po")), ids=lambda p: p.name)
def test_catalogues_are_read_as_babel_reads_them(path: Path) -> None:
    ours = dict(read_po(path.read_text(encoding="utf-8")))
    with path.open("rb") as file:
        theirs = {
            (m.id if isinstance(m.id, str) else m.id[0]): (
                (m.string,) if isinstance(m.string, str) else tuple(m.string or ())
            )
            for m in read_po_by_babel(file)
            if m.id
        }
    assert ours == theirs


def test_a_catalogue_has_plurals_long_lines_and_signs() -> None:
    text = (
        'msgid ""\nmsgstr "Language: de\\n"\n\n'
        "# a remark\n#: page.html:3\n"
        'msgid "%(num)s lead"\nmsgid_plural "%(num)s leads"\n'
        'msgstr[0] "%(num)s Leitung"\nmsgstr[1] "%(num)s Leitungen"\n\n'
        'msgid ""\n"a \\"long\\" "\n"line"\nmsgstr "eine \\"lange\\" Zeile"\n\n'
        '#, fuzzy\nmsgid "guessed"\nmsgstr "geraten"\n'
    )
    assert dict(read_po(text)) == {
        "%(num)s lead": ("%(num)s Leitung", "%(num)s Leitungen"),
        'a "long" line': ('eine "lange" Zeile',),
    }


def test_sentences_of_the_engine_keep_their_gaps() -> None:
    assert len(GERMAN.engine) > 100
    for message, (german, *_) in GERMAN.engine.items():
        assert set(re.findall(r"\{\w+\}", german)) == set(re.findall(r"\{\w+\}", message)), message


@pytest.mark.parametrize(
    "caution", [CRANKS, MOVES, OHMS_DEAD, STEEL, BEFORE_UNPLUGGING.format(name="C7"), CONTROLLER]
)
def test_what_keeps_people_safe_is_said_in_german(caution: str) -> None:
    said = GERMAN.said(caution)
    assert said != caution
    assert "{" not in said
    assert ("C7" in said) == ("C7" in caution)


@pytest.mark.parametrize(
    ("said", "german"),
    [
        ("fuse F1: blown", "fuse F1: durchgebrannt"),
        ("wire coil M1 to frame: broken", "wire coil M1 to frame: gebrochen"),
        ("neutral switch: contact worn or dirty", "neutral switch: Kontakt verschlissen oder verschmutzt"),
        ("a sentence nobody knows: at all", "a sentence nobody knows: at all"),
        ("", ""),
    ],
)
def test_sentences_are_known_by_their_pattern(said: str, german: str) -> None:
    assert GERMAN.said(said) == german
    assert texts("en").said(said) == said


@pytest.mark.parametrize(
    ("chosen", "accepted", "language"),
    [
        ("", "de-AT,de;q=0.9,en;q=0.5", "de"),
        ("", "fr,en;q=0.4,de;q=0.8", "de"),
        ("", "fr, it", "en"),
        ("", "", "en"),
        ("", "de;q=0", "en"),
        ("", "de;q=x,;;,*", "en"),
        ("de", "en", "de"),
        ("xx", "en", "en"),
    ],
)
def test_the_language_is_the_readers(chosen: str, accepted: str, language: str) -> None:
    assert pick_language(chosen, accepted) == language


def test_a_page_is_in_the_language_that_it_says() -> None:
    with at_work(DEAD, language="de") as (client, job):
        answer = client.get(f"/job/{job.record.id}")
        assert '<html lang="de">' in answer.text
        assert answer.headers["content-language"] == "de"
        assert "Vorsicht" in words(answer.text)
        assert "Caution" not in words(answer.text)
        assert "0,0" in answer.text or re.search(r"\d,\d", words(answer.text))

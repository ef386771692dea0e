"""One HTML file for each sheet, with its tables and its own arithmetic: mailed or copied, opened, used."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterable
from html import escape
from importlib.resources import files

from backprobe.diagnosis.engine import Engine
from backprobe.report.assumed import assumed_words
from backprobe.report.pocket.tables import tables
from backprobe.sheet.model import Sheet

SCRIPTS = (
    "circuit",
    "settle",
    "predict",
    "evidence",
    "weigh",
    "rank",
    "setups",
    "proof",
    "checks",
    "answer",
    "words",
    "pocket",
)
"""The page's scripts in the order in which they build on each other."""

POLICY = "default-src 'none'; script-src '{script}'; style-src '{style}'; base-uri 'none'; form-action 'none'"
"""What the browser may do for this page: run its one script, show its one style, and fetch nothing."""


def pocket(sheet: Sheet | Engine, *, circumstances: Iterable[str] = ()) -> str:
    """The pocket card of a sheet: one HTML page that ranks readings and names the next check by itself.

    Its answers over single faults are those of `rank`; where the engine goes on to several faults at
    once, the page says that the laptop is needed.

    Parameters
    ----------
    sheet
        A sheet, or an `Engine` made from one.
    circumstances
        As for `rank`; with an `Engine` those that it was made with.

    Returns
    -------
    str
        The page, complete: no other file, no server, no request.

    Raises
    ------
    ValueError
        For an unknown circumstance.
    """
    engine = sheet if isinstance(sheet, Engine) else Engine(sheet, circumstances)
    content = tables(engine)
    plain = json.dumps(content, ensure_ascii=False, separators=(",", ":"), allow_nan=False, sort_keys=True)
    content["id"] = hashlib.sha256(plain.encode()).hexdigest()[:16]
    # Inside a script element only "<" could end it.
    card = json.dumps(content, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    script = "\n".join(_asset(f"{name}.js") for name in SCRIPTS)
    style = _asset("pocket.css")
    policy = POLICY.format(script=_digest(script), style=_digest(style))
    return _asset("pocket.html").format(
        policy=escape(policy, quote=True),
        name=escape(engine.sheet.name),
        assumed=escape(assumed_words(engine.sheet)),
        first=escape(content["words"]["first"]),
        style=style,
        card=card.replace("<", "\\u003c"),
        script=script,
    )


def _asset(name: str) -> str:
    return files("backprobe.report.pocket").joinpath(name).read_text(encoding="utf-8")


def _digest(text: str) -> str:
    """A source of a content security policy: the digest of what stands between the tags (CSP Level 3)."""
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode('ascii')}"

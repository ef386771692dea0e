"""Sanity of numbers: of a whole sheet, or of claims typed as lines."""

from __future__ import annotations

from dataclasses import replace

from backprobe.diagnosis.engine import Engine
from backprobe.errors import Problem
from backprobe.sheet.anatomy import Value
from backprobe.sheet.copper import REFERENCE
from backprobe.sheet.model import Sheet
from backprobe.workbench.budget import budget, heaviest
from backprobe.workbench.claim_rules import check_claim, units_words
from backprobe.workbench.claims import ClaimError, parse_claims
from backprobe.workbench.finding import Finding
from backprobe.workbench.sheet_rules import RULES, weather
from backprobe.workbench.temperature import at_temperature
from backprobe.workbench.written import Written

REMEDY = (
    "Claims are of Fahrenheit and Celsius, per cent of copper per degree, volts with amperes with ohms or "
    "watts, volts lost with amperes, a fuse with its load, Ah with a drain or days, a wire with length and "
    "size, limits, or bands."
)

AS_WRITTEN = Value(REFERENCE, REFERENCE, REFERENCE, "degC")


def sanity(source: Sheet | str, *, file: str = "-") -> tuple[Finding, ...]:
    """Numbers that cannot be so, each with the arithmetic against it and what would be right.

    Parameters
    ----------
    source
        A sheet, whose values are checked together; or claims, one a line, such as ``68 F is 30 C``,
        ``5 V and 2 A trip below 40 ohm`` or ``0.3 A drain flattened 60 Ah in 2 months``.
    file
        Name of the claims in messages.

    Returns
    -------
    tuple of Finding
        By line. Claims are answered either way (`Finding.holds`), a sheet only where something is odd.

    Raises
    ------
    ClaimError
        For a claim that cannot be read, or whose amounts no rule joins.
    """
    if isinstance(source, str):
        return _claims(source, file)
    written, sheet = Written(source), _as_written(source)
    found = [finding for rule in RULES for finding in rule(sheet, written)]
    found += weather(source, written)
    engine = Engine(sheet)
    overloads = budget(engine, heaviest(engine)).findings
    found += [replace(f, field=f"parts.{f.field}") for f in overloads if not f.field.startswith("runs.")]
    return tuple(sorted(found, key=lambda f: (not f.wrong, f.line)))


def _as_written(sheet: Sheet) -> Sheet:
    """The sheet with its copper where it was written, so that findings show those values."""
    return at_temperature(sheet, AS_WRITTEN) if sheet.temperature and sheet.text else sheet


def _claims(text: str, file: str) -> tuple[Finding, ...]:
    found: list[Finding] = []
    problems: list[Problem] = []
    for claim in parse_claims(text, file=file):
        answers = check_claim(claim)
        found += answers
        if not answers:
            message = f"holds amounts that no rule joins ({units_words(claim.amounts)})"
            problems.append(Problem("claim", claim.text[:80], message, REMEDY, file, claim.line))
    if problems:
        raise ClaimError(*problems)
    return tuple(found)

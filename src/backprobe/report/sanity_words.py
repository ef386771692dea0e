"""Findings about numbers, in words."""

from __future__ import annotations

from collections.abc import Sequence

from backprobe.report.layout import count, joined, wrap
from backprobe.workbench.finding import Finding


def sanity_text(findings: Sequence[Finding], name: str, *, claims: bool) -> str:
    """All findings, the worst first for a sheet, by line for claims."""
    if not findings:
        return "\n".join(wrap(f"{name}: no number here is at odds with another."))
    wrong = sum(f.wrong for f in findings)
    what = "claim" if claims else "number"
    verb = ("does" if wrong == 1 else "do") + " not hold" if claims else "cannot be so"
    head = wrap(f"{name}: {count(wrong, what)} {verb}")
    return joined(head, *(finding_lines(f) for f in findings))


def finding_lines(finding: Finding) -> list[str]:
    """One finding: where, what, the arithmetic, and what would be right."""
    place = f"line {finding.line}: " if finding.line else ""
    lines = wrap(f"{label(finding)}  {place}{finding.field}: {finding.value}", "", "       ")
    lines += wrap(finding.arithmetic, "       ")
    return lines + wrap(finding.right, "       ")


def label(finding: Finding) -> str:
    """``WRONG``, ``LOOK`` or ``HOLDS``: said in a word, never by colour alone."""
    if finding.holds:
        return "HOLDS"
    return "WRONG" if finding.wrong else "LOOK "

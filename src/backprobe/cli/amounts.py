"""Amounts typed as plain words of a command, such as ``10 m 1 mm2 5 A``."""

from __future__ import annotations

from backprobe.cli.inputs import wrong
from backprobe.workbench.claims import Amount, Claim, ClaimError, parse_claim


def read_amounts(words: tuple[str, ...], field: str, example: str) -> Claim:
    """The amounts in the words of a command.

    Raises
    ------
    WrongUseError
        When there is none, when one cannot be read, or when an unknown option stands among them.
    """
    option = next((w for w in words if w.startswith("--")), None)
    if option:
        raise wrong(field, option, "is not an option of this command", "See its --help.")
    if not words:
        raise wrong(field, "", "is missing", f"Write such as: {example}.")
    try:
        return parse_claim(" ".join(words))
    except ClaimError as error:
        first = error.problems[0]
        raise wrong(field, first.value, first.message, f"Write such as: {example}.") from None


def only(claim: Claim, unit: str, field: str) -> Amount | None:
    """The one amount of a unit; None when there is none.

    Raises
    ------
    WrongUseError
        When there are several.
    """
    found = claim.of(unit)
    if len(found) > 1:
        texts = " and ".join(a.text for a in found)
        raise wrong(field, texts, "are two amounts of one kind", "Give one of them.")
    return found[0] if found else None


def refuse_others(claim: Claim, field: str, *units: str) -> None:
    """Refuse amounts that this command has no use for.

    Raises
    ------
    WrongUseError
        With the first of them.
    """
    for amount in claim.amounts:
        if amount.unit not in units:
            raise wrong(field, amount.text, "has no place here", f"Use amounts in {', '.join(units)}.")

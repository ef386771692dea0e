"""Whole numbers of options, refused in words instead of in the terms of a parser."""

from __future__ import annotations

import click


class Whole(click.IntRange):
    """A whole number between two ends, both included.

    Parameters
    ----------
    least, most
        The ends.
    """

    name = "number"

    def __init__(self, least: int, most: int) -> None:
        super().__init__(least, most)
        self.least, self.most = least, most

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The number that was typed."""
        try:
            number = int(str(value))
        except ValueError:
            number = self.least - 1
        if not self.least <= number <= self.most:
            self.fail(f"'{value}' is no whole number from {self.least} to {self.most}.", param, ctx)
        return number

"""Look at sheets: begin one from the library, check files, show one, print the schema."""

from __future__ import annotations

import click

from backprobe.cli.lazy import LazyGroup


@click.group("sheet", cls=LazyGroup, package=__name__)
def group() -> None:
    """Look at sheets: begin one from the library, check files, show one, print the schema."""


COMMAND = group

"""Keep the readings of one machine and one complaint in a log."""

from __future__ import annotations

import click

from backprobe.cli.lazy import LazyGroup


@click.group("job", cls=LazyGroup, package=__name__)
def group() -> None:
    """Keep the readings of one machine and one complaint in a log.

    The log only grows: what was wrong is undone by a later entry, never rewritten. JOB may be
    shortened to its first characters, and left out while only one job is open.
    """


COMMAND = group

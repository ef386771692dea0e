"""A group whose commands are files of a folder, imported when they are asked for."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import click

LONGEST = 200
"""Characters of a first sentence that are shown."""


class LazyGroup(click.Group):
    """A group that finds its commands in a package.

    Parameters
    ----------
    package
        Dotted name of the package; each module in it defines ``COMMAND``. The name of the
        file is the name of the command, with ``_`` written as ``-``.
    """

    def __init__(self, *args: Any, package: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.package = package

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Show the help when no command is named."""
        if not args and not ctx.resilient_parsing:
            click.echo(ctx.get_help())
            ctx.exit()
        return super().parse_args(ctx, args)

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of all commands, by the alphabet."""
        return sorted(self._modules())

    def _modules(self) -> dict[str, str]:
        """Command to module; a trailing ``_`` keeps a file clear of Python's own words."""
        folder = Path(str(importlib.import_module(self.package).__file__)).parent
        stems = {p.stem for p in folder.iterdir() if p.suffix == ".py" or (p / "__init__.py").is_file()}
        return {s.rstrip("_").replace("_", "-"): s for s in stems if not s.startswith("_")}

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one command; None when there is no such file."""
        name = self._modules().get(cmd_name)
        if name is None:
            return None
        module = importlib.import_module(f"{self.package}.{name}")
        command = module.COMMAND
        if not isinstance(command, click.Command):
            raise TypeError(f"{module.__name__}.COMMAND is not a command")
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands with the whole first sentence of their help."""
        found = [(name, self.get_command(ctx, name)) for name in self.list_commands(ctx)]
        rows = [(name, c.get_short_help_str(LONGEST)) for name, c in found if c and not c.hidden]
        if rows:
            with formatter.section("Commands"):
                formatter.write_dl(rows)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command; an unknown one is answered with the nearest names."""
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError:
            from difflib import get_close_matches

            names = self.list_commands(ctx)
            near = get_close_matches(args[0], names, n=2, cutoff=0.5)
            offer = f"Did you mean {' or '.join(near)}?" if near else f"There are: {', '.join(names)}."
            raise click.UsageError(f"'{args[0]}' is not a command. {offer}", ctx) from None

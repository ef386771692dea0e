"""A group whose commands are files of a folder, imported when they are asked for."""

from __future__ import annotations

import importlib
from pathlib import Path
from typing import Any

import click


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
        folder = Path(str(importlib.import_module(self.package).__file__)).parent
        names = {
            path.stem
            for path in folder.iterdir()
            if path.suffix == ".py" or (path / "__init__.py").is_file()
        }
        return sorted(name.replace("_", "-") for name in names if not name.startswith("_"))

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one command; None when there is no such file."""
        if cmd_name not in self.list_commands(ctx):
            return None
        module = importlib.import_module(f"{self.package}.{cmd_name.replace('-', '_')}")
        command = module.COMMAND
        if not isinstance(command, click.Command):
            raise TypeError(f"{module.__name__}.COMMAND is not a command")
        return command

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

"""The commands: one file each, ``commands/X.py`` with a function ``X``.

To add a command: one module, one row here. A command is a skin: it checks its options, calls the
library, prints what comes back and returns the exit status. Its module is imported when the
command is called or listed; what is heavy is imported inside of it.
"""

from __future__ import annotations

from collections import Counter
from importlib import import_module

import click

__all__ = ["BELOW_PASS_MARK", "COMMANDS", "FAULT", "INTERRUPTED", "READER_GONE", "Commands"]

# exit status, beside 0
BELOW_PASS_MARK, FAULT, INTERRUPTED, READER_GONE = 1, 2, 130, 141

# in the order of the help
COMMANDS: tuple[str, ...] = (
    "audit",
    "grade",
    "chart",
    "compare",
    "reference",
    "progress",
    "drill",
    "fingering",
    "demo",
)


class Commands(click.Group):
    """The group of the commands of the table, each imported when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """Give the names of all commands."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """Import one command; None where there is none of that name."""
        if cmd_name not in COMMANDS:
            return None
        command = getattr(import_module(f"{__name__}.{cmd_name}"), cmd_name)
        assert isinstance(command, click.Command)  # noqa: S101  (the table and the file agree)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command of the arguments, and refuse a file option that it is given twice."""
        name, command, rest = super().resolve_command(ctx, args)
        if command is not None and not ctx.resilient_parsing:
            _check_files_once(click.Context(command, parent=ctx, info_name=name), command, rest)
        return name, command, rest


def _check_files_once(context: click.Context, command: click.Command, arguments: list[str]) -> None:
    """Of two files for one option only the last would be read or written."""
    given = command.make_parser(context).parse_args(list(arguments))[2]
    for option, times in Counter(given).items():
        if times > 1 and isinstance(option, click.Option) and option.metavar in ("FILE", "FOLDER"):
            raise click.UsageError(f"{option.opts[0]} is given twice; give it once", context)

"""`drawbar help`."""

from __future__ import annotations

import click

from drawbar.cli import complete
from drawbar.cli.options import DrawbarCommand


@click.command(name="help", cls=DrawbarCommand)
@click.argument("command", metavar="[COMMAND]", required=False, shell_complete=complete.command_names)
@click.pass_context
def help_command(ctx: click.Context, command: str | None) -> None:
    """Show the help of a command, or that of the program.

    COMMAND is the name of a command. Without it, prints what commands there are.

    \b
    Examples:
      drawbar help
      drawbar help check
    """
    program = ctx.parent
    assert program is not None
    assert isinstance(program.command, click.Group)
    if command is None:
        click.echo(program.get_help())
        return
    _, found, _ = program.command.resolve_command(program, [command])
    assert found is not None  # an unknown name has ended the call
    with click.Context(found, info_name=command, parent=program, **found.context_settings) as shown:
        click.echo(found.get_help(shown))

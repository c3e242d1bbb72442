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

    COMMAND is the name of a command. Without it, lists the commands.

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
    _, named, _ = program.command.resolve_command(program, [command])
    assert named is not None  # an unknown name has ended the call
    with click.Context(named, info_name=command, parent=program, **named.context_settings) as shown:
        click.echo(named.get_help(shown))

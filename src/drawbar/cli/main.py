"""The program: its commands by name, and what it says when a call or an input is wrong."""

from __future__ import annotations

import gc
import importlib
import os
import sys

import click

from drawbar import __version__
from drawbar.cli.output import OutputFailed, flush_output, output_failed, use_utf_8
from drawbar.cli.telling import end_of_call

# In the order of the work. `size` stands in size_command.py as `size_command`, and the others likewise.
COMMANDS = (
    "new",
    "check",
    "size",
    "explain",
    "compare",
    "recheck",
    "diff",
    "takeoff",
    "supply",
    "hotwater",
    "tightness",
    "commission",
    "sheet",
    "list",
    "schema",
    "help",
)


_COMPLETION = """\b
Tab completion, for bash: eval "$(_DRAWBAR_COMPLETE=bash_source drawbar)"
                for zsh:  eval "$(_DRAWBAR_COMPLETE=zsh_source drawbar)"
                for fish: _DRAWBAR_COMPLETE=fish_source drawbar | source
"""


class Commands(click.Group):
    """A group that imports the module of a command when the command is asked for."""

    def list_commands(self, _ctx: click.Context) -> list[str]:
        """Return the names of the commands."""
        return list(COMMANDS)

    def get_command(self, _ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command, None if there is none of that name."""
        if cmd_name not in COMMANDS:
            return None
        module = importlib.import_module(f"drawbar.cli.{cmd_name}_command")
        command: click.Command = getattr(module, f"{cmd_name}_command")
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Return the command that is called; a name that is near to one is told as such."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from drawbar.problems import close_to, shown

            ctx.fail(f"No such command: {shown(args[0])}; {close_to(args[0], COMMANDS)}")
        return super().resolve_command(ctx, args)


@click.group(
    cls=Commands,
    # --help first: click 8.1 names the first of them where a call is wrong.
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 80},
    epilog=_COMPLETION,
)
@click.version_option(__version__, message="%(prog)s %(version)s")
def cli() -> None:
    """Size the low-pressure LPG line of a trailer, caravan, van or boat.

    Reads one YAML job file and checks the working pressure at every appliance
    with everything on. A calculation aid for licensed gasfitters: the local
    code in force prevails.

    Exit code 0 if everything passes, 1 if something fails, 3 if something is
    undecided, 2 if an input or the call is wrong, 4 if the machine failed, as a
    full disk does; of several, 4, 2, 1, 3, 0 count in this order.

    \b
    Examples:
      drawbar new trailer.yaml --template food-van
      drawbar check trailer.yaml
    """


def main() -> None:
    """Run the program and end with its exit code.

    0 all passes, 1 something fails, 3 something is undecided, 2 an input or the call is wrong, 4 the machine failed.
    """
    gc.disable()  # most calls end before there is anything to collect; `recheck`, which may run for long, turns it on
    use_utf_8()
    try:
        code = _call()
    except OutputFailed as error:
        # Nothing more can be said there, not even when Python flushes at the end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        end_of_call(error)
        code = error.exit_code
    except click.ClickException as error:
        end_of_call(error)
        code = error.exit_code
    except (click.Abort, KeyboardInterrupt):
        click.echo("drawbar: stopped", err=True)
        code = 130
    except MemoryError:
        click.echo("drawbar: there is not enough memory for this", err=True)
        code = 4
    finally:
        gc.enable()
    sys.exit(code if isinstance(code, int) else 0)


def _call() -> object:
    """Call the command and write out what it printed."""
    try:
        code = cli.main(prog_name="drawbar", standalone_mode=False)
    except OSError as error:
        if error.filename is not None:
            raise  # of a file, and not told by the command: a slip of ours
        raise output_failed(error) from None  # what click itself prints, such as the help
    flush_output()
    return code

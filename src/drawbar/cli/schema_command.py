"""`drawbar schema`."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from drawbar.cli import complete
from drawbar.cli.options import FileCommand, library_option, out_option
from drawbar.cli.output import write, write_failed
from drawbar.cli.reading import InputWrong, catalogue

if TYPE_CHECKING:
    from pathlib import Path

    from drawbar.catalogue.catalogue import Catalogue


@click.command(name="schema", cls=FileCommand)
@click.option(
    "--of",
    "of",
    metavar="KIND",
    default="job",
    show_default=True,
    shell_complete=complete.schema_kinds,
    help="Of this file: job, prices, stock, library, readings or swaps; or of the JSON of a command, as check.",
)
@click.option(
    "--install",
    "folder",
    metavar="[DIR]",
    is_flag=False,
    flag_value=".",
    shell_complete=complete.folder_names,
    help="Write the schemas of all files that people write beside the jobs in DIR, where editors look. Default: here.",
)
@library_option
@out_option
@click.pass_context
def schema_command(
    ctx: click.Context, of: str, folder: str | None, libraries: tuple[str, ...], out: str | None
) -> None:
    """Print the JSON Schema of a file, for editors.

    An editor that knows JSON Schema for YAML then completes keys, names and
    units, and marks what can't stand: a pipe, fitting or rule that is not
    listed, a figure without its unit. The names are those of `drawbar list`
    and of the library that is given. A command's name gives the schema of the
    JSON that it prints. `--install` needs no network; a file
    finds its schema by its first line, which starter files have:

    \b
      # yaml-language-server: $schema=.drawbar/job.schema.json

    \b
    Examples:
      drawbar schema --install
      drawbar schema --of prices --out prices.schema.json
    """
    from drawbar.problems import close_to, shown
    from drawbar.schemas.schema_kinds import SCHEMA_KINDS

    if of not in SCHEMA_KINDS:
        what = f"{shown(of)} is no kind of file with a schema; {close_to(of, SCHEMA_KINDS)}"
        raise click.BadParameter(what, ctx, param_hint="--of")
    if folder is None:
        from drawbar.schemas.installed import schema_text

        write(schema_text(of, catalogue(libraries)), out)
        return
    if out is not None or ctx.get_parameter_source("of") is not click.core.ParameterSource.DEFAULT:
        raise click.UsageError("--install writes them all, each to its own file; leave --of and --out out.", ctx)
    from pathlib import Path

    _install(Path(folder), catalogue(libraries))


def _install(folder: Path, known: Catalogue) -> None:
    """Write the schemas into a folder of their own beside the jobs, and say which line finds them."""
    from drawbar.schemas.installed import NotOurs, editor_line, install

    if not folder.is_dir():
        raise InputWrong(f"{folder}: there is no such folder")
    try:
        written = install(folder, known)
    except NotOurs as error:
        raise InputWrong(f"{error.path}: is no schema of drawbar, and is left as it is; move it away") from None
    except OSError as error:
        raise write_failed(str(error.filename or folder), error) from None
    click.echo(f"{written[0].parent} is written, with the schemas of {len(written)} kinds of file.")
    click.echo("An editor that knows YAML finds one by the first line of a file:")
    for path in written:
        kind = path.name.partition(".")[0]
        click.echo(f"  {editor_line(kind)}")

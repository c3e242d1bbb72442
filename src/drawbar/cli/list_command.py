"""`drawbar list`."""

from __future__ import annotations

import click

from drawbar.cli import complete, complete_names
from drawbar.cli.options import FileCommand, format_option, library_option, out_option
from drawbar.cli.output import emit
from drawbar.cli.reading import catalogue


@click.command(name="list", cls=FileCommand)
@click.argument("kind", metavar="[KIND]", shell_complete=complete.listing_names, required=False)
@click.argument("name", metavar="[NAME]", shell_complete=complete_names.listed_entries, required=False)
@format_option()
@library_option
@out_option
@click.pass_context
def list_command(
    ctx: click.Context, kind: str | None, name: str | None, form: str, libraries: tuple[str, ...], out: str | None
) -> None:
    """List what a job file may name, with sources.

    KIND is pipes, fittings, devices, gases, formulas, rules, appliances,
    bottles, tightness or tolerances; without one, lists the kinds. With NAME,
    prints that entry alone, for pipes the sizes of that family.

    \b
    Examples:
      drawbar list rules
      drawbar list pipes as1432-b
    """
    from drawbar.catalogue.listing import LISTED_KINDS, list_entries, list_kinds, listed_names
    from drawbar.problems import close_to
    from drawbar.report.list_report import ListReport

    if kind is not None and kind not in LISTED_KINDS:
        what = f"{kind!r} is not a kind that can be listed; {close_to(kind, LISTED_KINDS)}"
        raise click.BadParameter(what, ctx, param_hint="KIND")
    known = catalogue(libraries)
    if kind is None:
        listing = list_kinds(known)
    else:
        names = listed_names(kind, known)
        if name is not None and name not in names:
            what = f"{name!r} is not one of the {kind}; {close_to(name, names)}"
            raise click.BadParameter(what, ctx, param_hint="NAME")
        listing = list_entries(kind, name, known)
    emit(ListReport(listing), [listing], form, out)
    ctx.exit(0)

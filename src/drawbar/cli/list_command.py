"""`drawbar list`."""

from __future__ import annotations

import click

from drawbar.cli import complete
from drawbar.cli.common import catalogue, format_option, library_option, out_option, print_page, write


@click.command(name="list")
@click.argument("kind", metavar="[KIND]", shell_complete=complete.listings, required=False)
@click.argument("name", metavar="[NAME]", required=False)
@format_option()
@library_option
@out_option
@click.pass_context
def command(
    ctx: click.Context, kind: str | None, name: str | None, form: str, libraries: tuple[str, ...], out: str | None
) -> None:
    """List what a job file may name, with sources.

    KIND is pipes, fittings, gases, formulas, rules, appliances or tightness;
    without one, prints what there is. With NAME, prints that entry alone, for
    pipes the sizes of that family.

    \b
    Examples:
      drawbar list rules
      drawbar list pipes as1432-b
    """
    from drawbar.problems import close_to
    from drawbar.report import list_report as report
    from drawbar.report.layout import as_csv, as_json

    if kind is not None and kind not in report.LISTINGS:
        what = f"{kind!r} is not a kind that can be listed; {close_to(kind, report.LISTINGS)}"
        raise click.BadParameter(what, ctx, param_hint="KIND")
    known = catalogue(libraries)
    if kind is None:
        found = report.kinds(known)
    else:
        there = report.names(kind, known)
        if name is not None and name not in there:
            what = f"{name!r} is not one of the {kind}; {close_to(name, there)}"
            raise click.BadParameter(what, ctx, param_hint="NAME")
        found = report.listing(kind, name, known)
    if form == "json":
        write(as_json("list", found.rows), out)
    elif form == "csv":
        write(as_csv(report.columns(found), report.rows(found)), out)
    else:
        print_page(report.page(found), form, out)
    ctx.exit(0)

"""`drawbar new`."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from drawbar.cli import complete
from drawbar.cli.output import write, write_failed
from drawbar.cli.reading import InputWrong, catalogue, problems_told
from drawbar.cli.starter_questions import ask, print_starts, reader_sentence
from drawbar.cli.telling import remark

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.templates import StarterFile

_THERE = "{}: is there already, and is left as it is; choose another name"


@click.command(name="new")
@click.argument("file", metavar="[FILE]", required=False, shell_complete=complete.file_names)
@click.option("--list", "listed", is_flag=True, help="Print the names of the templates and what they are.")
@click.option(
    "--template",
    metavar="NAME",
    shell_complete=complete.template_names,
    help="Start from this one. Default: camper-trailer.",
)
@click.option(
    "--example",
    metavar="[NAME]",
    is_flag=False,
    flag_value="",
    shell_complete=complete.example_names,
    help="Write one of the project's examples as it is. Without NAME: print their names.",
)
@click.option("--title", metavar="TEXT", help="What the job is called.")
@click.option("--ref", metavar="TEXT", help="Your own number for it.")
@click.option(
    "--rule", metavar="NAME", shell_complete=complete.rule_names, help="Whose limits apply. See `drawbar list rules`."
)
@click.option(
    "--gas",
    metavar="GAS",
    shell_complete=complete.gas_names,
    help="A gas, or a mixture by mole as '{propane: 70 %, n-butane: 30 %}'. See `drawbar list gases`.",
)
@click.option("--altitude", metavar="LENGTH", help="Of the place above the sea, as '600 m'.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the gas in the pipe, as '15 degC'.")
@click.pass_context
def new_command(
    ctx: click.Context,
    /,
    *,
    file: str | None,
    listed: bool,
    template: str | None,
    example: str | None,
    **answers: str | None,
) -> None:
    """Write a starter job file that passes the check as it is.

    The file says in its comments what to change. With FILE alone on a
    terminal, asks a few questions. With options, asks nothing. Without FILE,
    or with -, prints the file instead of writing it. A file that is there
    already is never touched.

    \b
    Examples:
      drawbar new --list
      drawbar new trailer.yaml --template food-van --title 'Pancake van'
      drawbar new --gas n-butane --temperature '10 degC'
      drawbar new --example harvest-fair-trailer fair.yaml
    """
    from drawbar.templates import DEFAULT_TEMPLATE, templates

    given = {key: answer for key, answer in answers.items() if answer is not None}
    known = templates()
    if listed:
        if file is not None or template is not None or example is not None or given:
            raise click.UsageError("--list goes alone.", ctx)
        print_starts("template", known)
        ctx.exit(0)
    if example is not None:
        if template is not None or given:
            raise click.UsageError("--example is written as it is; leave the other options out.", ctx)
        _write_example(ctx, example, file)
        ctx.exit(0)
    if template is not None and template not in known:
        from drawbar.problems import close_to, shown

        what = f"{shown(template)} is not a template; {close_to(template, known)}"
        raise click.BadParameter(what, ctx, param_hint="--template")
    path = Path(file) if file not in (None, "-") else None
    if path is not None:
        _refuse_place(path)
    has_terminal = sys.stdin.isatty() and sys.stdout.isatty()
    if path is not None and template is None and not given and has_terminal:
        starter = ask(known, catalogue(()))
    else:
        starter = _filled_in(ctx, template or DEFAULT_TEMPLATE, given, catalogue(()))
    if path is None:
        write(starter.text, None)
        if file is None and sys.stdout.isatty():
            remark("\nTo keep it, name a file: drawbar new trailer.yaml")
    else:
        _write_new(path, starter.text)
        for change in starter.changes:
            remark(change, err=False)
        next_call = f"drawbar check {shlex.quote(str(path))}"
        remark(f"{path} is written. Put your own figures in, then type:\n  {next_call}", err=False)
    ctx.exit(0)


def _write_example(ctx: click.Context, name: str, file: str | None) -> None:
    """Write an example as it is, to a new file or to standard output; without a name, print what there is."""
    from drawbar.problems import close_to, shown
    from drawbar.templates import example_text, examples

    known = examples()
    if not name:
        print_starts("example", known)
        return
    if name not in known:
        what = f"{shown(name)} is not an example; {close_to(name, known)}"
        raise click.BadParameter(what, ctx, param_hint="--example")
    if file in (None, "-"):
        write(example_text(name), None)
        return
    path = Path(str(file))
    _refuse_place(path)
    _write_new(path, example_text(name))
    remark(f"{path} is written.", err=False)


def _refuse_place(path: Path) -> None:
    """End the call where the file can't be a new one, before anything is asked."""
    try:
        if path.is_dir():
            raise InputWrong(f"{path}: is a folder; name a file in it")
        if path.exists():
            raise InputWrong(_THERE.format(path))
        if not path.parent.is_dir():
            raise InputWrong(f"{path}: there is no folder {path.parent}")
    except OSError as error:
        raise InputWrong(f"{path}: can't be written: {error.strerror}") from None


def _write_new(path: Path, text: str) -> None:
    """Write a file that is not there yet; what can't be written whole is taken away again."""
    from drawbar.cli.whole_files import write_new

    try:
        write_new(path, text)
    except FileExistsError:
        raise InputWrong(_THERE.format(path)) from None
    except OSError as error:
        raise write_failed(str(path), error) from None


def _filled_in(ctx: click.Context, template: str, given: dict[str, str], known: Catalogue) -> StarterFile:
    """Fill the options in one after another, so that a problem is told of the one that brings it."""
    from drawbar.problems import Problems
    from drawbar.templates import ANSWER_PATHS, starter_file

    answers: dict[str, str] = {}
    for key in (key for key in ANSWER_PATHS if key in given):
        answers[key] = given[key]
        try:
            starter_file(template, answers, known)
        except Problems as error:
            raise click.BadParameter(reader_sentence(error), ctx, param_hint=f"--{key}") from None
    with problems_told():
        return starter_file(template, answers, known)

"""`drawbar new`."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from drawbar.cli import complete
from drawbar.cli.common import InputWrong, catalogue, print_page, problems_told, write

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.templates import Starter

THERE = "{}: is there already, and is left as it is; choose another name"


@click.command(name="new")
@click.argument("file", metavar="[FILE]", required=False, shell_complete=complete.file_names)
@click.option("--list", "listed", is_flag=True, help="Print the names of the templates and what they are.")
@click.option(
    "--template",
    metavar="NAME",
    shell_complete=complete.template_names,
    help="Start from this one. Default: camper-trailer.",
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
def command(
    ctx: click.Context,
    file: str | None,
    listed: bool,  # noqa: FBT001 - click calls it by name
    template: str | None,
    title: str | None,
    ref: str | None,
    rule: str | None,
    gas: str | None,
    altitude: str | None,
    temperature: str | None,
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
    """
    from drawbar import templates as starter
    from drawbar.problems import close_to, shown

    options = {"title": title, "ref": ref, "rule": rule, "gas": gas, "altitude": altitude, "temperature": temperature}
    given = {key: value for key, value in options.items() if value is not None}
    known = starter.templates()
    if listed:
        if file is not None or template is not None or given:
            raise click.UsageError("--list goes alone.", ctx)
        _print_list(known)
        ctx.exit(0)
    if template is not None and template not in known:
        what = f"{shown(template)} is not a template; {close_to(template, known)}"
        raise click.BadParameter(what, ctx, param_hint="--template")
    path = Path(file) if file not in (None, "-") else None
    if path is not None:
        _refuse_place(path)
    catalogue_ = catalogue(())
    if path is not None and template is None and not given and sys.stdin.isatty() and sys.stdout.isatty():
        made = _ask(known, catalogue_)
    else:
        made = _fill(ctx, template or starter.DEFAULT, given, catalogue_)
    if path is None:
        write(made.text, None)
        if file is None and sys.stdout.isatty():
            click.echo("\nTo keep it, name a file: drawbar new trailer.yaml", err=True)
        ctx.exit(0)
    _write_new(path, made.text)
    for change in made.changes:
        click.echo(change)
    click.echo(f"{path} is written. Put your own figures in, then type:\n  drawbar check {shlex.quote(str(path))}")
    ctx.exit(0)


def _print_list(known: dict[str, str]) -> None:
    from drawbar.report.layout import Column, Table

    columns = (Column("template", words=True), Column("what it is", words=True))
    print_page([Table(columns, [[name, about] for name, about in known.items()])], "table", None)


def _refuse_place(path: Path) -> None:
    """End the call where the file can't be a new one, before anything is asked."""
    try:
        if path.is_dir():
            raise InputWrong(f"{path}: is a folder; name a file in it")
        if path.exists():
            raise InputWrong(THERE.format(path))
        if not path.parent.is_dir():
            raise InputWrong(f"{path}: there is no folder {path.parent}")
    except OSError as error:
        raise InputWrong(f"{path}: can't be written: {error.strerror}") from None


def _write_new(path: Path, text: str) -> None:
    """Write a file that is not there yet; what can't be written whole is taken away again."""
    try:
        with path.open("xb") as stream:
            try:
                stream.write(text.encode("utf-8"))
            except BaseException:
                path.unlink(missing_ok=True)
                raise
    except FileExistsError:
        raise InputWrong(THERE.format(path)) from None
    except OSError as error:
        raise InputWrong(f"{path}: can't be written: {error.strerror}") from None


def _fill(ctx: click.Context, template: str, given: dict[str, str], known: Catalogue) -> Starter:
    """Fill the options in one after another, so that a problem is told of the one that brings it."""
    from drawbar.problems import Problems
    from drawbar.templates import ANSWERS, starter

    answers: dict[str, str] = {}
    for key in (key for key in ANSWERS if key in given):
        answers[key] = given[key]
        try:
            starter(template, answers, known)
        except Problems as error:
            raise click.BadParameter(_sentence(error), ctx, param_hint=f"--{key}") from None
    with problems_told():
        return starter(template, answers, known)


def _ask(templates: dict[str, str], known: Catalogue) -> Starter:
    """Ask for the template and what goes into it; what the reader finds wrong is asked again."""
    from drawbar.problems import Problems, close_to, shown
    from drawbar.templates import ANSWERS, DEFAULT, defaults, starter

    def template_of(text: str) -> str:
        if text not in templates:
            raise click.UsageError(f"{shown(text)} is not a template; {close_to(text, templates)}")
        return text

    _print_list(templates)
    click.echo("\nEnter takes what stands in brackets.")
    template = click.prompt("Template", default=DEFAULT, value_proc=template_of)
    questions = {
        "title": "What is the job called",
        "ref": "Your own number for it (Enter for none)",
        "rule": f"Whose limits: {', '.join(known.names('rules'))}\nRule",
        "gas": f"The gas: {', '.join(known.gas_names)}\nGas",
        "altitude": "Altitude of the place",
        "temperature": "Temperature of the gas in the pipe",
    }
    preset = defaults(template)
    answers: dict[str, str] = {}

    def checked(key: str) -> Callable[[str], str]:
        def answer(text: str) -> str:
            if text.strip() or key != "ref":
                try:
                    starter(template, {**answers, key: text}, known)
                except Problems as error:
                    raise click.UsageError(_sentence(error)) from None
            return text.strip()

        return answer

    for key in ANSWERS:
        default = preset.get(key, "")
        answer = click.prompt(questions[key], default=default, show_default=bool(default), value_proc=checked(key))
        if answer and answer != default:
            answers[key] = answer
    click.echo()
    return starter(template, answers, known)


def _sentence(error: Exception) -> str:
    """Return what the reader says is wrong, without the place in a file that nobody has seen."""
    from drawbar.problems import Problems

    assert isinstance(error, Problems)
    first = error.problems[0]
    return f"{first.what}; {first.fit}" if first.fit else first.what

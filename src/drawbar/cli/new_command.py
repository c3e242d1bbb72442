"""`drawbar new`."""

from __future__ import annotations

import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from drawbar.cli import complete
from drawbar.cli.draft_options import draft_of, draft_options
from drawbar.cli.options import DrawbarCommand
from drawbar.cli.output import print_page, write, write_failed
from drawbar.cli.reading import InputWrong, catalogue, problems_told
from drawbar.cli.starter_questions import ask, print_starts, reader_sentence
from drawbar.cli.telling import remark

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.templates import StarterFile

_OF_TEMPLATES = {"title", "ref", "rule", "drop", "gas", "altitude", "temperature"}  # the options that a template takes
_GUESSED = "guess"  # the mark of a line that nobody said
_THERE = "{}: is there already, and is left as it is; choose another name"


@click.command(name="new", cls=DrawbarCommand)
@click.argument("file", metavar="[FILE]", required=False, shell_complete=complete.file_names)
@click.option("--list", "listed", is_flag=True, help="List the templates.")
@click.option(
    "--template",
    metavar="NAME",
    shell_complete=complete.template_names,
    help="Start from this template. Default: camper-trailer.",
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
@click.option("--ref", metavar="TEXT", help="Your own job number.")
@click.option(
    "--rule",
    metavar="NAME",
    shell_complete=complete.rule_names,
    help="The rule set whose limits apply. See `drawbar list rules`.",
)
@click.option("--drop", metavar="PRESSURE", help="The allowable drop, for a rule that gives none, as '0.25 kPa'.")
@click.option(
    "--gas",
    metavar="GAS",
    shell_complete=complete.gas_names,
    help="A gas, or a mixture by mole as '{propane: 70 %, n-butane: 30 %}'. See `drawbar list gases`.",
)
@click.option("--altitude", metavar="LENGTH", help="Of the place above the sea, as '600 m' or '0 to 1200 m'.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the gas in the pipe, as '15 degC' or '-5 to 45 degC'.")
@draft_options
@click.pass_context
def new_command(
    ctx: click.Context,
    /,
    *,
    file: str | None,
    listed: bool,
    template: str | None,
    example: str | None,
    **answers: Any,
) -> None:
    """Write a job file to start from, and check it.

    With FILE alone on a terminal, asks for the appliances, the lengths of the
    runs and so on, and chooses the pipe sizes. The options below say the same
    without a question. What is not given is put on the safe side, or left open.
    With --template, or without any of these, the file is a template that passes
    the check as it is. Without FILE, or with -, prints the file. An existing
    file is never changed.

    \b
    Examples:
      drawbar new trailer.yaml
      drawbar new van.yaml --appliance fryer='50 MJ/h' --portable urn='21 MJ/h' \\
        --run main='3.6 m' --run to-fryer='1 m' --run to-bayonet='2 m' \\
        --hose '1.5 m hose/8' --capacity '180 MJ/h'
      drawbar new pancakes.yaml --template food-van --title 'Pancake van'
      drawbar new --example harvest-fair-trailer fair.yaml
    """
    from drawbar.templates import DEFAULT_TEMPLATE, templates

    given = {key: answer for key, answer in answers.items() if answer not in (None, ())}
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
    asks = path is not None and template is None and not given and has_terminal
    if asks or not given.keys() <= _OF_TEMPLATES:
        starter = _own(ctx, path, template, None if asks else given)
    else:
        starter = _filled_in(ctx, template or DEFAULT_TEMPLATE, given, catalogue(()))
    if path is None:
        write(starter.text, None)
        if file is None and sys.stdout.isatty():
            remark("\nTo keep it, name a file: drawbar new trailer.yaml")
    else:
        _write_new(path, starter.text)
        _show(path, starter)
    ctx.exit(0)


def _own(ctx: click.Context, path: Path | None, template: str | None, given: dict[str, Any] | None) -> StarterFile:
    """Return a file of one's own, by questions, or by options where they are given."""
    from drawbar.first_draft import drafted

    if template is not None:
        raise click.UsageError("--template has appliances and a line of its own; leave it or these options out.", ctx)
    known = catalogue(())
    title = path.stem.replace("-", " ").replace("_", " ").strip().capitalize() if path is not None else ""
    draft = ask(title or "Job", known) if given is None else draft_of(ctx, title or "Job", given, known)
    with problems_told():
        return drafted(draft, known)


def _show(path: Path, starter: StarterFile) -> None:
    """Show the verdict on a file that was just written, with its first lines, and what to do next."""
    from drawbar.answers import whole_check
    from drawbar.jobfile.reader import read_job_file
    from drawbar.report.check_report import CheckReport
    from drawbar.report.layout import Table
    from drawbar.schemas.installed import schema_file
    from drawbar.verdict import Verdict

    known = catalogue(())
    with problems_told():
        whole = whole_check(read_job_file(str(path), known, sized=True), None, known, in_full=False)
    page = CheckReport().page(whole)
    tables = [number for number, block in enumerate(page) if isinstance(block, Table)]
    print_page(page[: tables[0] + 1], "table", None)  # the rest is for `check`, when the figures are there
    do = "Read it, put your own figures in, then type:"
    if whole.result.verdict is not Verdict.PASS:
        do = "Put in what is missing or wrong, then type:"
    elif _GUESSED in starter.text:
        do = f"PASS counts what it marks `{_GUESSED}`:\nput in what is there, then type:"
    lines = [*starter.changes, f"{path} is written. {do}", f"  drawbar check {shlex.quote(str(path))}"]
    if not (path.parent / schema_file("job")).exists():
        folder = "" if path.parent == Path() else f" {shlex.quote(str(path.parent))}"
        lines += ["So that your editor completes and checks it:", f"  drawbar schema --install{folder}"]
    remark("\n" + "\n".join(lines), err=False)


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

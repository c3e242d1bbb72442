"""The options that commands share."""

from __future__ import annotations

import functools
import os
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

from drawbar.cli import complete, complete_names
from drawbar.cli.reading import MACHINE, InputWrong, JobReader
from drawbar.cli.telling import QUIET

if TYPE_CHECKING:
    _FloatType = click.ParamType[float]
else:
    _FloatType = click.ParamType  # click 8.1 has no subscript here

FORMS = ("table", "json", "csv", "markdown")

# Options that commands share, in the order in which every help page has them.
_SHARED = ("settings", "asked_swaps", "libraries", "units", "form", "out", "force", "quiet")
_FORCE = "drawbar.force"  # where a call keeps whether any file may be written over

_Command = TypeVar("_Command", bound=Callable[..., Any])


class QuantityOption(_FloatType):
    """An option that is a number and a unit, such as `20 %`, within bounds written so too. It comes as an SI float.

    Attributes
    ----------
    dimension : str
        The name of a Dimension in drawbar.units, which is imported only when the option is used.
    low, high : str
        The least and the most that can be right.
    """

    name = "quantity"

    def __init__(self, dimension: str, low: str, high: str) -> None:
        self.dimension = dimension
        self.low = low
        self.high = high

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the SI float; end the call with what would fit otherwise."""
        from drawbar import units
        from drawbar.problems import shown

        dimension: units.Dimension = getattr(units, self.dimension)

        def si(text: str) -> float:
            return units.to_si(*units.number_and_unit(text, dimension))

        try:
            si_value = si(value)
        except units.UnitError as error:
            self.fail(str(error), param, ctx)
        if not si(self.low) <= si_value <= si(self.high):
            self.fail(f"{shown(value)} can't be right; write from {self.low} to {self.high}", param, ctx)
        return si_value


class InputFile(click.ParamType):  # type: ignore[type-arg]  # click 8.1 has no subscript here
    """A file that a command reads, or `-` for standard input."""

    name = "file"

    def shell_complete(
        self, ctx: click.Context, param: click.Parameter, incomplete: str
    ) -> list[click.shell_completion.CompletionItem]:
        """Return what a shell completes: the names of files."""
        return complete.file_names(ctx, param, incomplete)


INPUT_FILE = InputFile()


class DrawbarCommand(click.Command):
    """A command with a help page like the others: its own options, then those that it shares, then the exit codes.

    Parameters
    ----------
    judges : bool
        Whether it ends with a verdict.
    """

    def __init__(self, *words: Any, judges: bool = False, **values: Any) -> None:
        super().__init__(*words, **values)
        self.judges = judges
        self.params.append(_quiet_option())
        self.params.sort(key=lambda param: _SHARED.index(param.name) if param.name in _SHARED else -1)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write what stands under the options: the exit codes."""
        verdicts = "PASS, 1 FAIL, 3 UNDECIDED, 2 " if self.judges else "done, 2 "
        formatter.write_paragraph()
        formatter.write_text(
            f"Exit code: 0 {verdicts}an input or the call is wrong, 4 the machine failed, as a full disk does."
        )
        super().format_epilog(ctx, formatter)


class FileCommand(DrawbarCommand):
    """A command that reads files; `-` stands for standard input in place of one of them, and for standard output.

    It refuses to write its output over a file that it reads, and without `--force` over one that is no earlier output,
    before any work is done. Where it is asked for JSON and an
    input can't be used, the problems come as JSON too.
    """

    def invoke(self, ctx: click.Context) -> Any:
        """Call the command, unless `--out` names one of its inputs or two of them are standard input."""
        given: list[str] = []
        for param in self.params:
            value = ctx.params.get(param.name or "")
            if isinstance(param.type, InputFile) and value:
                given.extend([value] if isinstance(value, str) else value)
        if given.count("-") > 1:
            raise click.UsageError("Only one input can come from standard input.", ctx)
        library = os.environ.get("DRAWBAR_LIBRARY")
        refuse_input(ctx, ctx.params.get("out"), [*given, *([library] if library else [])])
        _refuse_other_file(ctx, ctx.params.get("out"))
        try:
            return super().invoke(ctx)
        except click.exceptions.Exit as ended:
            raise click.exceptions.Exit(ctx.meta.get(MACHINE, ended.exit_code)) from None
        except InputWrong as error:
            if error.problems and ctx.params.get("form") == "json":
                from drawbar.cli.output import write_problems

                write_problems(self.name or "", error.problems, ctx.params.get("out"))
            raise


def _quiet_option() -> click.Option:
    """Return the option that every command has."""

    def keep(ctx: click.Context, _param: click.Parameter, value: bool) -> None:
        ctx.meta[QUIET] = value

    return click.Option(
        ["-q", "--quiet"],
        is_flag=True,
        expose_value=False,
        callback=keep,
        help="Print results and problems only.",
    )


def refuse_input(ctx: click.Context, out: str | None, inputs: Iterable[str]) -> None:
    """End the call where the output would take the place of an input, links followed.

    Parameters
    ----------
    ctx : click.Context
        The call.
    out : str or None
        Where the output goes; None for standard output.
    inputs : iterable of str
        The files that are read.

    Raises
    ------
    click.BadParameter
        If the output is one of them.
    """
    if out in (None, "-"):
        return
    for file in inputs:
        try:
            is_same = file != "-" and os.path.samefile(file, str(out))
        except (OSError, ValueError):  # one of them is not there, or can't be a name
            continue
        if is_same:
            from drawbar.problems import shown

            raise click.BadParameter(
                f"{shown(out)} is read by this call, and would be lost; write to another file", ctx, param_hint="--out"
            )


def _refuse_other_file(ctx: click.Context, out: str | None) -> None:
    """End the call where the output would take the place of a file that is no earlier output, unless it is forced."""
    if out in (None, "-") or ctx.meta.get(_FORCE) or not os.path.exists(str(out)):
        return
    from drawbar.cli.earlier_output import may_be_replaced

    if not may_be_replaced(str(out)):
        from drawbar.problems import shown

        what = f"{shown(str(out))} is there, and was not written by drawbar; --force writes over it"
        raise click.BadParameter(what, ctx, param_hint="--out")


def force_option(command: _Command) -> _Command:
    """Give a command that writes to a file the option to write over any."""

    def keep(ctx: click.Context, _param: click.Parameter, value: bool) -> None:
        ctx.meta[_FORCE] = value

    return click.option(
        "--force",
        is_flag=True,
        expose_value=False,
        callback=keep,
        help="Write over a file that is no earlier output of drawbar, too; never over an input.",
    )(command)


def format_option(*forms: str) -> Callable[[_Command], _Command]:
    """Return the option `--format` with the forms that a command has."""
    return click.option(
        "--format",
        "form",
        type=click.Choice(forms or FORMS),
        default="table",
        show_default=True,
        help="Print results in this format.",
    )


def out_option(command: _Command) -> _Command:
    """Give a command the options by which its output goes to a file."""
    return click.option(
        "-o",
        "--out",
        metavar="FILE",
        shell_complete=complete.file_names,
        help="Write results to FILE, whole or not at all; - for standard output.",
    )(force_option(command))


library_option = click.option(
    "--library",
    "libraries",
    metavar="FILE",
    type=INPUT_FILE,
    multiple=True,
    help="Read the workshop's own library: pipes, fittings, rules, appliances. DRAWBAR_LIBRARY names one too.",
)


set_option = click.option(
    "--set",
    "settings",
    metavar="KEY=VALUE",
    shell_complete=complete_names.settings,
    multiple=True,
    help="Set a key for this call, as runs.main.length='4.2 m'. The file is not changed.",
)
_swap_option = click.option(
    "--swap",
    "asked_swaps",
    metavar="OLD=NEW",
    shell_complete=complete_names.swaps,
    multiple=True,
    help="Change an appliance's input for this call, as urn='30 MJ/h'.",
)
_units_option = click.option(
    "--units",
    type=click.Choice(("metric", "mbar", "us")),
    help="Show the results in these units. Default: those of the job file.",
)


def job_options(command: _Command) -> _Command:
    """Give a command that reads jobs the options by which they are read, and one argument, `reader`, that reads them.

    Parameters
    ----------
    command : callable
        The command, with a parameter `reader` for a JobReader.

    Returns
    -------
    callable
        The command with the options.
    """
    return set_option(_swap_option(batch_job_options(command)))


def batch_job_options(command: _Command) -> _Command:
    """Give a command the options of `job_options` without `--set` and `--swap`."""

    @functools.wraps(command)
    def reading(
        *words: Any,
        libraries: Sequence[str],
        units: str | None,
        settings: Sequence[str] = (),
        asked_swaps: Sequence[str] = (),
        **values: Any,
    ) -> Any:
        return command(*words, reader=JobReader(libraries, settings, asked_swaps, units), **values)

    return _units_option(library_option(reading))  # type: ignore[return-value]  # as click has it: any callable

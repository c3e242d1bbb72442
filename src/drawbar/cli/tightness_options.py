"""The options that say what a tightness test read, as arguments of the calculation."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from drawbar.cli import complete, complete_names
from drawbar.cli.options import QuantityOption

if TYPE_CHECKING:
    from drawbar.onsite.tightness import TightnessError

_Command = TypeVar("_Command", bound=Callable[..., Any])

# The option that stands for an argument.
_OPTIONS = {
    "test": "--test",
    "section": "--section",
    "readings_gauge_pa": "--end",
    "temperatures_k": "--end-temperature",
    "settled_s": "--settled",
    "gas_change_k": "--gas-change",
}
_PRESSURE = QuantityOption("PRESSURE", "0 Pa", "1000 kPa")
_TEMPERATURE = QuantityOption("TEMPERATURE", "-40 degC", "80 degC")

_OF_TEST = (
    click.option(
        "--test",
        metavar="NAME",
        shell_complete=complete.tightness_test_names,
        help="Use this test instead of the rule set's, as `en-1949`.",
    ),
    click.option(
        "--section",
        metavar="NAME",
        shell_complete=complete_names.section_names,
        help="Of a job of two stages, test this one: `regulator`, or the run with its own regulator.",
    ),
    click.option("--start", type=_PRESSURE, metavar="PRESSURE", help="The pressure at the start, as `2.75 kPa`."),
    click.option("--end", type=_PRESSURE, metavar="PRESSURE", help="The pressure at the end."),
    click.option(
        "--start-temperature", type=_TEMPERATURE, metavar="TEMPERATURE", help="Of the gas at the first reading."
    ),
    click.option(
        "--end-temperature", type=_TEMPERATURE, metavar="TEMPERATURE", help="Of the gas at the second reading."
    ),
    click.option(
        "--time",
        type=QuantityOption("TIME", "1 s", "168 h"),
        metavar="TIME",
        help="Between the readings, as `5 min`. A PASS needs it.",
    ),
    click.option(
        "--settled",
        type=QuantityOption("TIME", "0 s", "168 h"),
        metavar="TIME",
        help="From filling to the first reading, as `2 min`. A PASS needs it.",
    ),
    click.option(
        "--resolution",
        type=QuantityOption("PRESSURE", "0.1 Pa", "10 kPa"),
        metavar="PRESSURE",
        help="The step that the manometer shows. A PASS needs it; else 10 Pa is assumed.",
    ),
    click.option(
        "--thermometer",
        type=QuantityOption("TEMPERATURE_CHANGE", "0 K", "50 K"),
        metavar="DIFFERENCE",
        help="How far each temperature may be out. Default: 0.5 K.",
    ),
    click.option(
        "--gas-change",
        type=QuantityOption("TEMPERATURE_CHANGE", "0 K", "50 K"),
        metavar="DIFFERENCE",
        help="How far the gas temperature may differ from the thermometer's. Default: 0.5 K; with no temperatures "
        "2 K in 15 min, more in more.",
    ),
)


def tightness_options(command: _Command) -> _Command:
    """Give a command the options of a tightness test that was read, and one argument, `visit`, that holds what is said.

    Parameters
    ----------
    command : callable
        The command, with a parameter `visit` for a dict of the arguments of `tightness_of` that were given.

    Returns
    -------
    callable
        The command with the options.
    """

    @functools.wraps(command)
    def visiting(
        *words: Any,
        test: str | None,
        section: str | None,
        start: float | None,
        end: float | None,
        start_temperature: float | None,
        end_temperature: float | None,
        time: float | None,
        settled: float | None,
        resolution: float | None,
        thermometer: float | None,
        gas_change: float | None,
        **values: Any,
    ) -> Any:
        readings = _pair(start, end, "--start and --end go together: give both readings.")
        temperatures = _pair(
            start_temperature, end_temperature, "--start-temperature and --end-temperature go together: give both."
        )
        if temperatures is not None and readings is None:
            raise click.UsageError(
                "--start-temperature goes with readings: give --start and --end.", click.get_current_context()
            )
        said = {
            "test": test,
            "section": section,
            "readings_gauge_pa": readings,
            "temperatures_k": temperatures,
            "time_s": time,
            "settled_s": settled,
            "resolution_pa": resolution,
            "thermometer_k": thermometer,
            "gas_change_k": gas_change,
        }
        visit = {argument: value for argument, value in said.items() if value is not None}
        return command(*words, visit=visit, **values)

    for option in reversed(_OF_TEST):
        option(visiting)
    return visiting  # type: ignore[return-value]  # as click has it: any callable


def _pair(first: float | None, second: float | None, what: str) -> tuple[float, float] | None:
    """Return two values that go together, None for neither; end the call where half of them is missing."""
    if (first is None) != (second is None):
        raise click.UsageError(what, click.get_current_context())
    return (first, second) if first is not None and second is not None else None


def refusal(ctx: click.Context, error: TightnessError) -> click.UsageError:
    """Return an argument that can't be right in the words of the command line."""
    if error.argument == "time_s":
        return click.UsageError(f"--time is missing: {error.reason}", ctx)
    if error.choices:
        names = ", ".join(error.choices)
        return click.UsageError(f"The job has several stages; say with --section which was read: {names}.", ctx)
    return click.BadParameter(error.reason, ctx, param_hint=_OPTIONS[error.argument])

"""The options of `drawbar new` that make a job file of one's own without a question."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

from drawbar.cli import complete
from drawbar.cli.starter_questions import reader_sentence

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.first_draft import Draft

_Command = TypeVar("_Command", bound=Callable[..., Any])
_PLAIN = ("ref", "gas", "rule", "drop", "temperature", "altitude", "capacity", "bottles", "outlets", "tube")
OPTIONS = (
    click.option(
        "--appliance",
        "fixed",
        metavar="NAME=INPUT",
        multiple=True,
        shell_complete=complete.appliance_types,
        help="A fixed appliance, as fryer='50 MJ/h', or a type of `drawbar list appliances`.",
    ),
    click.option(
        "--portable",
        metavar="NAME=INPUT",
        multiple=True,
        shell_complete=complete.appliance_types,
        help="An appliance that is plugged in.",
    ),
    click.option(
        "--run",
        "lengths",
        metavar="NAME=LENGTH",
        multiple=True,
        help="The length of a run, and its pipe if it is laid: main='3.6 m as1432-b/12.70', to-fryer='1.2 m'.",
    ),
    click.option("--capacity", metavar="RATE", help="The regulator's rated capacity, as '180 MJ/h'."),
    click.option("--bottles", metavar="COUNT x SIZE", help="As '2 x 9 kg'."),
    click.option("--outlets", metavar="COUNT", type=click.IntRange(1, 40), help="How many plug-in points."),
    click.option("--hose", metavar="LENGTH PIPE", help="Of portable appliances, as '1.5 m hose/8', or none."),
    click.option(
        "--tube",
        metavar="FAMILY",
        shell_complete=complete.pipe_families,
        help="The tube to choose sizes from. Default: as1432-b.",
    ),
)


def draft_options(command: _Command) -> _Command:
    """Give a command the options of a draft."""
    for option in reversed(OPTIONS):
        command = option(command)
    return command


def draft_of(ctx: click.Context, title: str, given: dict[str, Any], known: Catalogue) -> Draft:
    """Return the draft that the options make; what is wrong is told of the option that brings it.

    Parameters
    ----------
    ctx : click.Context
        The call.
    title : str
        What the job is called if the options do not say.
    given : dict of str to Any
        The options that are given, by name.
    known : Catalogue
        What they may name.

    Returns
    -------
    Draft
        All answers, none missing.
    """
    from drawbar.first_draft import Draft, DraftAppliance

    draft = Draft(given.get("title", title))
    _look_at(ctx, draft, known, "--title")
    for key in _PLAIN:
        if key in given:
            draft = draft._replace(**{key: given[key]})
            _look_at(ctx, draft, known, f"--{key}")
    for option, key, is_portable in (("--appliance", "fixed", False), ("--portable", "portable", True)):
        for text in given.get(key, ()):
            name, rate = _name_and_value(ctx, text, option, known.names("appliances"))
            appliance = DraftAppliance(name, rate, is_portable)
            if name in (other.name for other in draft.appliances):
                raise click.BadParameter(f"there is `{name}` already; give each its own name", ctx, param_hint=option)
            draft = draft._replace(appliances=(*draft.appliances, appliance))
            _look_at(ctx, draft, known, option)
    if not draft.appliances:
        raise click.UsageError("say which appliances there are, as --appliance fryer='50 MJ/h'.", ctx)
    if "hose" in given:
        draft = draft._replace(hose=given["hose"])
        _look_at(ctx, draft, known, "--hose")
    return _with_lengths(ctx, draft, given.get("lengths", ()), known)


def _with_lengths(ctx: click.Context, draft: Draft, texts: Sequence[str], known: Catalogue) -> Draft:
    """Return the draft with the lengths of its runs, of which none may be missing."""
    from drawbar.first_draft import MAIN, runs_of
    from drawbar.problems import shown

    runs = runs_of(draft)
    for text in texts:
        name, length = _name_and_value(ctx, text, "--run", ())
        if name not in runs:
            ends = ", ".join(f"{run} (to {end})" if run != MAIN else run for run, end in runs.items())
            raise click.BadParameter(f"there is no run {shown(name)}; there are {ends}", ctx, param_hint="--run")
        draft = draft._replace(lengths={**draft.lengths, name: length})
        _look_at(ctx, draft, known, "--run")
    missing = [f"--run {run}='LENGTH'" for run in runs if run not in draft.lengths]
    if missing:
        raise click.UsageError(f"how long are the runs? Say it by {' '.join(missing)}", ctx)
    return draft


def _name_and_value(ctx: click.Context, text: str, option: str, types: Sequence[str]) -> tuple[str, str]:
    """Return the two sides of NAME=VALUE; the name of a type stands for itself."""
    name, equals, value = (part.strip() for part in text.partition("="))
    if not equals and name in types:
        return name, name
    if not name or not value:
        from drawbar.problems import shown

        form = "main='3.6 m'" if option == "--run" else "fryer='50 MJ/h'"
        raise click.BadParameter(f"{shown(text)} is not NAME=VALUE; write for example {form}", ctx, param_hint=option)
    return name, value


def _look_at(ctx: click.Context, draft: Draft, known: Catalogue, option: str) -> None:
    from drawbar.first_draft import look_at
    from drawbar.problems import Problems

    try:
        look_at(draft, known)
    except Problems as error:
        raise click.BadParameter(reader_sentence(error), ctx, param_hint=option) from None

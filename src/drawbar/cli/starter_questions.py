"""The questions of `drawbar new` on a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import click

from drawbar.cli.output import print_page, terminal_width

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.first_draft import Draft
    from drawbar.problems import Problems

_MOST_OUTLETS = 40


def print_starts(kind: str, about: Mapping[str, str]) -> None:
    """Print what a new file can start from, templates or examples, and what each is."""
    from drawbar.report.layout import Column, Table

    columns = (Column(kind, words=True), Column("what it is", words=True))
    print_page([Table(columns, list(about.items()))], "table", None)


def reader_sentence(error: Problems) -> str:
    """Return what the reader says is wrong, without the place in a file that nobody has seen."""
    first = error.problems[0]
    return f"{first.what}; {first.fit}" if first.fit else first.what


def _again(sentence: str) -> click.UsageError:
    """Return what has a question asked again, its words wrapped as behind `Error: `."""
    from textwrap import fill

    beginning = "Error: "
    lines = fill(beginning + sentence, terminal_width(), break_long_words=False, break_on_hyphens=False)
    return click.UsageError(lines.removeprefix(beginning))


def ask(title: str, known: Catalogue) -> Draft:
    """Ask for what a job is made of; what the reader finds wrong is asked again.

    Parameters
    ----------
    title : str
        What the job is called if nobody says otherwise.
    known : Catalogue
        What the answers may name.

    Returns
    -------
    Draft
        The answers.
    """
    click.echo("Enter takes what stands in brackets. Ctrl-C ends without a file.\n")
    asking = _Asking(title, known)
    asking.particulars()
    asking.appliances()
    asking.plugging_in()
    asking.line()
    click.echo()
    return asking.draft


class _Asking:
    """The questions, and the draft as far as it is answered."""

    def __init__(self, title: str, known: Catalogue) -> None:
        from drawbar.first_draft import Draft

        self.known = known
        self.draft = Draft(title)

    def particulars(self) -> None:
        """Ask for all but the line."""
        draft, known = self.draft, self.known
        self._key("What is the job called", "title", draft.title)
        self._key("Your own number for it (Enter for none)", "ref", may_be_left=True)
        self._key(f"Gas: {', '.join(known.gas_names)}", "gas", draft.gas)
        # On lines of its own: a terminal would break the question within a name.
        click.echo(textwrap.fill(f"Rules: {', '.join(known.rules_with_drop())}", 78, break_on_hyphens=False))
        self._key("Rule", "rule", draft.rule)
        self._key("Capacity of the regulator, as 180 MJ/h (Enter if not known)", "capacity", may_be_left=True)
        self._key("Temperature of the gas in the pipe, coldest to hottest", "temperature", draft.temperature)
        self._key("Altitude, lowest to highest", "altitude", draft.altitude)
        self._key("Bottles, as 2 x 9 kg (Enter to leave them out)", "bottles", may_be_left=True)

    def appliances(self) -> None:
        """Ask for the appliances until there are no more."""
        from drawbar.first_draft import DraftAppliance

        click.echo("\nThe appliances, one by one. The input is on the data plate; a type of")
        click.echo("`drawbar list appliances` has a typical one, for a first sketch.")
        while True:
            appliance = self._appliance_name()
            if not appliance:
                return
            is_type = appliance in self.known.names("appliances")

            def with_input(text: str, name: str = appliance) -> Draft:
                return self.draft._replace(appliances=(*self.draft.appliances, DraftAppliance(name, text)))

            self._put(f"Input of {appliance}, as 50 MJ/h, or a type", with_input, appliance if is_type else "")
            if click.prompt("Fixed or plugged in", default="fixed", value_proc=_is_plugged_in):
                *before, last = self.draft.appliances
                self.draft = self.draft._replace(appliances=(*before, last._replace(is_portable=True)))

    def plugging_in(self) -> None:
        """Ask for the points and the hoses of portable appliances, where there are any."""
        from drawbar.first_draft import outlets_of

        if not outlets_of(self.draft):
            return
        click.echo()
        self._put(
            "Points to plug in, such as bayonets",
            lambda text: self.draft._replace(outlets=whole_number(text)),
            str(len(outlets_of(self.draft))),
        )
        self._key("Hose, as 1.5 m hose/8, or none (Enter if not known)", "hose", may_be_left=True)

    def line(self) -> None:
        """Ask for the tube and the lengths of the runs."""
        from drawbar.first_draft import MAIN, runs_of

        runs = runs_of(self.draft)
        click.echo("\nThe line, run by run. Sizes are chosen for you. Where a pipe is laid already,")
        click.echo("write it after the length, as 3.6 m as1432-b/12.70.")
        self._key("Tube, one of `drawbar list pipes`", "tube", self.draft.tube)
        for name, end in runs.items():
            start = "the regulator" if name == MAIN else f"the end of {MAIN}"

            def with_length(text: str, run: str = name) -> Draft:
                return self.draft._replace(lengths={**self.draft.lengths, run: text})

            self._put(f"Length of {name}, from {start} to {end}", with_length)

    def _key(self, question: str, key: str, default: str = "", *, may_be_left: bool = False) -> None:
        """Ask for one of the draft's answers; nothing leaves it out where that may be."""

        def put_in(text: str) -> Draft:
            answer: Any = text or None
            return self.draft._replace(**{key: answer})

        self._put(question, put_in, default, may_be_left=may_be_left)

    def _put(
        self, question: str, put_in: Callable[[str], Draft], default: str = "", *, may_be_left: bool = False
    ) -> None:
        """Put an answer into the draft; one that the reader refuses is asked again."""
        from drawbar.first_draft import look_at
        from drawbar.problems import Problems

        def draft_of(text: str) -> Draft:
            text = text.strip()
            if not text and not may_be_left:
                raise _again("this must be known")
            draft = put_in(text)
            if text:
                try:
                    look_at(draft, self.known)
                except Problems as error:
                    raise _again(reader_sentence(error)) from None
            return draft

        self.draft = click.prompt(
            question,
            default=default or None if not may_be_left else "",
            show_default=bool(default),
            value_proc=draft_of,
        )

    def _appliance_name(self) -> str:
        """Return the name of the next appliance, empty where there are no more."""
        from drawbar.first_draft import DraftAppliance, look_at
        from drawbar.problems import Problems, shown

        def name_of(text: str) -> str:
            name = text.strip()
            if not name and not self.draft.appliances:
                raise _again("there must be one at least; write its name, as fryer")
            if name in (appliance.name for appliance in self.draft.appliances):
                raise _again(f"there is {shown(name)} already; give each its own name")
            if name:
                more = DraftAppliance(name, "10 MJ/h")
                try:
                    look_at(self.draft._replace(appliances=(*self.draft.appliances, more)), self.known)
                except Problems as error:
                    raise _again(reader_sentence(error)) from None
            return name

        question = "Appliance, by its name" + (" (Enter if there are no more)" if self.draft.appliances else "")
        name: str = click.prompt(question, default="", show_default=False, value_proc=name_of)
        return name


def _is_plugged_in(text: str) -> bool:
    answer = text.strip().casefold()
    if not answer or not ("fixed".startswith(answer) or "plugged in".startswith(answer)):
        raise _again("write fixed or plugged in, or the first letter")
    return "plugged in".startswith(answer)


def whole_number(text: str) -> int:
    """Return how many points there are to plug in; what can't be is a wrong call."""
    if not text.strip().isdecimal() or not 1 <= int(text) <= _MOST_OUTLETS:
        raise _again(f"write a whole number from 1 to {_MOST_OUTLETS}")
    return int(text)

"""The questions of `drawbar new` on a terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import click

from drawbar.cli.output import print_page

if TYPE_CHECKING:
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.problems import Problems
    from drawbar.templates import StarterFile


def print_starts(kind: str, about: Mapping[str, str]) -> None:
    """Print what a new file can start from, templates or examples, and what each is."""
    from drawbar.report.layout import Column, Table

    columns = (Column(kind, words=True), Column("what it is", words=True))
    print_page([Table(columns, list(about.items()))], "table", None)


def reader_sentence(error: Problems) -> str:
    """Return what the reader says is wrong, without the place in a file that nobody has seen."""
    first = error.problems[0]
    return f"{first.what}; {first.fit}" if first.fit else first.what


def ask(templates: Mapping[str, str], known: Catalogue) -> StarterFile:
    """Ask for the template and what goes into it; what the reader finds wrong is asked again."""
    from drawbar.templates import ANSWER_PATHS, starter_file, template_answers

    print_starts("template", templates)
    click.echo("\nEnter takes what stands in brackets.")
    template = _ask_template(templates)
    questions, defaults = _questions(known), template_answers(template)
    answers: dict[str, str] = {}
    for key in ANSWER_PATHS:
        default = defaults.get(key, "")
        answer = click.prompt(
            questions[key],
            default=default,
            show_default=bool(default),
            value_proc=_checked(key, template, answers, known),
        )
        if answer and answer != default:
            answers[key] = answer
    click.echo()
    return starter_file(template, answers, known)


def _ask_template(templates: Mapping[str, str]) -> str:
    from drawbar.problems import close_to, shown
    from drawbar.templates import DEFAULT_TEMPLATE

    def template_of(text: str) -> str:
        if text not in templates:
            raise click.UsageError(f"{shown(text)} is not a template; {close_to(text, templates)}")
        return text

    name: str = click.prompt("Template", default=DEFAULT_TEMPLATE, value_proc=template_of)
    return name


def _questions(known: Catalogue) -> dict[str, str]:
    """Return what is asked for each answer."""
    return {
        "title": "What is the job called",
        "ref": "Your own number for it (Enter for none)",
        "rule": f"Whose limits: {', '.join(known.names('rules'))}\nRule",
        "gas": f"The gas: {', '.join(known.gas_names)}\nGas",
        "altitude": "Altitude of the place",
        "temperature": "Temperature of the gas in the pipe",
    }


def _checked(key: str, template: str, answers: Mapping[str, str], known: Catalogue) -> Callable[[str], str]:
    """Return what looks at an answer beside those given before, and has it asked again where it does not fit."""
    from drawbar.problems import Problems
    from drawbar.templates import starter_file

    def checked(text: str) -> str:
        if text.strip() or key != "ref":
            try:
                starter_file(template, {**answers, key: text}, known)
            except Problems as error:
                raise click.UsageError(reader_sentence(error)) from None
        return text.strip()

    return checked

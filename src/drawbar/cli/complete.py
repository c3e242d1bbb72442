"""What a shell completes for an argument or an option. Nothing is loaded before a shell asks."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem


def files(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Leave it to the shell, which knows its files."""
    from click.shell_completion import CompletionItem

    return [CompletionItem(incomplete, type="file")]


def formulas(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the formulas."""
    from drawbar.physics.formulas import FORMULAS

    return _starting(incomplete, FORMULAS)


def gases(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the gases."""
    from drawbar.catalogue.catalogue import Catalogue

    return _starting(incomplete, Catalogue().gas_names)


def rules(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the rule sets."""
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.catalogue.library import library_files

    return _starting(incomplete, Catalogue(library_files()).names("rules"))


def tests(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the tightness tests."""
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.catalogue.library import library_files

    return _starting(incomplete, Catalogue(library_files()).tightness_tests())


def templates(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the starter files' templates."""
    from drawbar import templates

    return _starting(incomplete, templates.templates())


def listings(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:
    """Return what can be listed."""
    from drawbar.report.list_report import LISTINGS

    return _starting(incomplete, LISTINGS)


def _starting(incomplete: str, names: Iterable[str]) -> list[str]:
    return [name for name in names if name.startswith(incomplete)]

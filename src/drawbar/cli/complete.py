"""What a shell completes for an argument or an option. Nothing is loaded before a shell asks."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import click
    from click.shell_completion import CompletionItem

    from drawbar.catalogue.catalogue import Catalogue


def file_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Leave the names of files to the shell, which knows them."""
    from click.shell_completion import CompletionItem

    return [CompletionItem(incomplete, type="file")]


def folder_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[CompletionItem]:
    """Leave the names of folders to the shell."""
    from click.shell_completion import CompletionItem

    return [CompletionItem(incomplete, type="dir")]


def command_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the commands."""
    from drawbar.cli.main import COMMANDS

    return _starting(incomplete, COMMANDS)


def formula_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the formulas."""
    from drawbar.physics.formulas import FORMULAS

    return _starting(incomplete, FORMULAS)


def gas_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the gases."""
    from drawbar.catalogue.catalogue import Catalogue

    return _starting(incomplete, Catalogue().gas_names)


def rule_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the rule sets that a file can start with, those of the workshop's library among them."""
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.catalogue.library import library_files

    return _starting(incomplete, Catalogue(library_files()).rules_with_drop())


def tightness_test_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the tightness tests, those of the workshop's library among them."""
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.catalogue.library import library_files

    return _starting(incomplete, Catalogue(library_files()).tightness_tests())


def template_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the starter files' templates."""
    from drawbar.templates import templates

    return _starting(incomplete, templates())


def example_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the project's examples."""
    from drawbar.templates import examples

    return _starting(incomplete, examples())


def listing_names(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return what can be listed."""
    from drawbar.catalogue.listing import LISTED_KINDS

    return _starting(incomplete, LISTED_KINDS)


def appliance_types(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the appliance types, behind `NAME=` where a name stands there."""
    name, equals, begun = incomplete.rpartition("=")
    return [f"{name}{equals}{kind}" for kind in _starting(begun, _known().names("appliances"))]


def pipe_families(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the families of pipe."""
    return _starting(incomplete, _known().names("pipes"))


def schema_kinds(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the kinds of file that have a JSON Schema."""
    from drawbar.schemas.schema_kinds import SCHEMA_KINDS

    return _starting(incomplete, SCHEMA_KINDS)


def _known() -> Catalogue:
    """Return the catalogue with the workshop's library laid over it."""
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.catalogue.library import library_files

    return Catalogue(library_files())


def _starting(incomplete: str, names: Iterable[str]) -> list[str]:
    return [name for name in names if name.startswith(incomplete)]

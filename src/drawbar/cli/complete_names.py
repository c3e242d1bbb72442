"""What a shell completes of a job: names that stand in the job file that was named earlier on the line.

The file is read as YAML and no further, so that it completes while it is being written; what can't be read completes
nothing, as nobody wants a message in the middle of a line.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import click
    from yaml.nodes import Node

_JOBS = ("file", "job_file", "jobs")  # what commands call the argument that names a job
_MOST_JOBS = 5  # whose names are offered, of a call of many jobs
_MOST_BYTES = 200_000


def runs_and_appliances(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the runs and appliances of the job."""
    return _starting(incomplete, [*_names(ctx, "runs"), *_names(ctx, "appliances")])


def state_names(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the states of the job; of one that has none, the name of the state with everything on."""
    from drawbar.job import ALL_ON

    names = [*_names(ctx, "states"), *_connections(ctx)]
    return _starting(incomplete, names or ([ALL_ON] if _names(ctx, "appliances") else []))


def heater_names(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of the appliances of the job that say what water they heat, or have a water side."""
    heaters = [
        name
        for root in _roots(ctx)
        for name, table in _tables(root, "appliances")
        if any(key == "heats" for key, _ in _pairs(table))
    ]
    sides = [name for root in _roots(ctx) for _, side in _water(root) for name, _ in _tables(side, "heaters")]
    return _starting(incomplete, dict.fromkeys([*heaters, *sides]))


def section_names(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the parts that a job of several stages is tested in: each begins at a regulator."""
    from drawbar.job import ROOT

    staged = [
        name
        for root in _roots(ctx)
        for name, table in _tables(root, "runs")
        if any(key == "regulator" for key, _ in _pairs(table))
    ]
    return _starting(incomplete, [ROOT, *staged] if staged else [])


def swaps(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return OLD= of every appliance and type in the jobs, and behind OLD= the types that may be put in."""
    from drawbar.cli.complete import appliance_types

    if "=" in incomplete:
        return appliance_types(ctx, _param, incomplete)
    types = [
        value.value
        for root in _roots(ctx)
        for _, table in _tables(root, "appliances")
        for key, rate in _pairs(table)
        if key == "input"
        for like, value in _pairs(rate)
        if like == "like"
    ]
    return [f"{name}=" for name in _starting(incomplete, [*_names(ctx, "appliances"), *types])]


def settings(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return KEY= of every key of the jobs that holds one value."""
    keys = [path for root in _roots(ctx) for path in _paths(root, "")]
    return [f"{key}=" for key in _starting(incomplete, keys)]


def listed_entries(ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """Return the names of a kind that can be listed, those of the libraries of the call among them."""
    from drawbar.catalogue.catalogue import Catalogue
    from drawbar.catalogue.library import library_files
    from drawbar.catalogue.listing import LISTED_KINDS, listed_names
    from drawbar.problems import Problems

    kind = ctx.params.get("kind")
    if kind not in LISTED_KINDS:
        return []
    try:
        known = Catalogue(library_files(ctx.params.get("libraries") or ()))
    except Problems:
        known = Catalogue()
    return _starting(incomplete, listed_names(kind, known))


def _names(ctx: click.Context, section: str) -> list[str]:
    return [name for root in _roots(ctx) for name, _ in _tables(root, section)]


def _roots(ctx: click.Context) -> Iterator[Node]:
    """Yield the top of each job that the line names; one that can't be read is passed over."""
    from drawbar.problems import Problems
    from drawbar.yamlfile import nodes
    from drawbar.yamlfile.nodes import Source

    named: Any = next((ctx.params[key] for key in _JOBS if ctx.params.get(key)), ())
    # Behind an option that waits for its value click has put no word into its place yet.
    files = [named] if isinstance(named, str) else named or [word for word in ctx.args if not word.startswith("-")]
    for file in files[:_MOST_JOBS]:
        if file == "-":
            continue  # standard input is the terminal, which is being typed on
        try:
            yield nodes.compose(nodes.read_text(file, _MOST_BYTES), Source(file))
        except Problems:
            continue


def _pairs(node: Node) -> Iterator[tuple[str, Node]]:
    """Yield the keys of a mapping with their values; nothing of what is no mapping."""
    from yaml.nodes import MappingNode, ScalarNode

    if isinstance(node, MappingNode):
        yield from ((key.value, value) for key, value in node.value if isinstance(key, ScalarNode))


def _tables(root: Node, section: str) -> Iterator[tuple[str, Node]]:
    for key, table in _pairs(root):
        if key == section:
            yield from _pairs(table)


def _water(root: Node) -> Iterator[tuple[str, Node]]:
    yield from ((key, value) for key, value in _pairs(root) if key == "water")


def _connections(ctx: click.Context) -> list[str]:
    """Return the connections of the water side that are states of the gas side."""
    return [
        name
        for root in _roots(ctx)
        for _, side in _water(root)
        for name, table in _tables(side, "connections")
        if any(key == "with" for key, _ in _pairs(table))
    ]


def _paths(node: Node, above: str) -> Iterator[str]:
    from yaml.nodes import ScalarNode

    for key, value in _pairs(node):
        path = f"{above}{key}"
        if isinstance(value, ScalarNode):
            yield path
        else:
            yield from _paths(value, f"{path}.")


def _starting(incomplete: str, names: Iterable[str]) -> list[str]:
    return [name for name in dict.fromkeys(names) if name.startswith(incomplete)]

"""The pure gases of LPG, as in data/gases.yaml: plain numbers in SI units, with the source of each."""

from __future__ import annotations

import functools
from typing import Any, TypedDict

from yaml.nodes import MappingNode, Node, SequenceNode

from drawbar.catalogue.data_files import data_tree, plain_data
from drawbar.physics.gas import Component
from drawbar.yamlfile import nodes


class GasBlock(TypedDict):
    """A gas in the data file: which of the sources each figure is from. The figures themselves are a Component's."""

    source: dict[str, str]


class GasData(TypedDict):
    """The data file as plain values: the sources by their short names, and the gases by name."""

    sources: dict[str, str]
    gases: dict[str, GasBlock]


def gas_data() -> GasData:
    """Return data/gases.yaml as plain values.

    Returns
    -------
    GasData
    """
    data: GasData = plain_data("gases")
    return data


def gas_names() -> list[str]:
    """Return the names of the pure gases."""
    return list(_gas_nodes())


def pure_gas(name: str) -> Component:
    """Return a pure gas: every figure of its block as a float, or as a tuple of floats. KeyError for no such gas."""
    figures: dict[str, Any] = {
        key.value: tuple(float(number.value) for number in value.value)
        if isinstance(value, SequenceNode)
        else float(value.value)
        for key, value in _gas_nodes()[name].value
        if not isinstance(value, MappingNode)
    }
    return Component(name=name, **figures)


@functools.cache
def _gas_nodes() -> dict[str, Node]:
    gases = nodes.node_at(data_tree("gases"), ("gases",))
    assert isinstance(gases, MappingNode)  # the project's own file, which a test reads whole
    return {key.value: node for key, node in gases.value}

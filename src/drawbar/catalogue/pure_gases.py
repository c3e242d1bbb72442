"""The pure gases of LPG, as in data/gases.yaml: plain numbers in SI units, with the source of each."""

from __future__ import annotations

import functools
from typing import Any, TypedDict

from yaml.nodes import MappingNode, SequenceNode

from drawbar.catalogue.data_files import RowTexts, data_text, plain_data
from drawbar.physics.component import Component


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


def pure_gas_names() -> list[str]:
    """Return the names of the pure gases."""
    return _rows().names


def pure_gas(name: str) -> Component:
    """Return a pure gas: every figure of its block as a float, or as a tuple of floats. KeyError for no such gas."""
    _, block, _ = _rows().nodes(name)
    figures: dict[str, Any] = {
        key.value: tuple(float(number.value) for number in value.value)
        if isinstance(value, SequenceNode)
        else float(value.value)
        for key, value in block.value
        if not isinstance(value, MappingNode)
    }
    return Component(name=name, **figures)


@functools.cache
def _rows() -> RowTexts:
    text = data_text("gases")
    return RowTexts("gases.yaml", text, margin="  ", start=text.index("\ngases:\n"))

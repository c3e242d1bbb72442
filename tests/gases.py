"""The project's gas data for tests, read without the catalogue."""

from functools import cache
from pathlib import Path
from typing import Any

import yaml

import drawbar.gas
from drawbar.gas import Component, Gas


@cache
def gas_data() -> dict[str, Any]:
    text = (Path(drawbar.gas.__file__).parent / "data" / "gases.yaml").read_text(encoding="utf-8")
    data: dict[str, Any] = yaml.safe_load(text)
    return data


@cache
def component(name: str) -> Component:
    row = {key: value for key, value in gas_data()["gases"][name].items() if key != "source"}
    return Component(
        name=name, **{key: tuple(value) if isinstance(value, list) else value for key, value in row.items()}
    )


def gas(fractions: dict[str, float]) -> Gas:
    return Gas(tuple((component(name), part) for name, part in fractions.items()))

"""The project's gas data for tests, read without the catalogue."""

from functools import cache
from typing import Any

import yaml

from drawbar.physics.component import Component
from drawbar.physics.gas import Gas
from paths import DATA


@cache
def gas_data() -> dict[str, Any]:
    text = (DATA / "gases.yaml").read_text(encoding="utf-8")
    data: dict[str, Any] = yaml.safe_load(text)
    return data


@cache
def component(name: str) -> Component:
    row = {key: value for key, value in gas_data()["gases"][name].items() if key != "source"}
    return Component(
        name=name, **{key: tuple(value) if isinstance(value, list) else value for key, value in row.items()}
    )


def gas(fractions: dict[str, float]) -> Gas:
    return Gas(tuple((component(name), share) for name, share in fractions.items()))

"""Figures of results with their units: every one can be asked for as a quantity, and its name says the unit."""

import dataclasses
import math
import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

import drawbar
from drawbar import quantities, units
from paths import EXAMPLES

TRAILER = EXAMPLES / "harvest-fair-trailer.yaml"
# Figures without a unit, and those whose unit is that of what was asked for: a cost, a rate as it was typed.
PURE = {
    *("reynolds", "relative_density", "acentric", "ratio", "efficiency", "fill", "share", "lowest_fill", "reserve"),
    *("chi2", "needed", "gained", "weight", "size", "waste", "flow_by_bore_max", "cost", "least_cost"),
    "reference_compressibility",
}
# Shares under the names of what they are of.
PURE_OF = {
    "Regulator.accuracy",
    *(f"Tolerances.{kind}" for kind in ("length", "fittings", "input", "devices", "own_bore", "pump")),
}


def trailer() -> drawbar.Job:
    return drawbar.read_job(TRAILER, sized=True)


def fields_of(value: Any) -> list[str]:
    """Return the names of what a dataclass or a named tuple holds, its properties included."""
    if dataclasses.is_dataclass(value):
        names = [field.name for field in dataclasses.fields(value)]
    else:
        names = list(getattr(value, "_fields", ()))
    return names + [name for name in dir(type(value)) if isinstance(getattr(type(value), name, None), property)]


def figures(value: Any, seen: dict[int, Any]) -> Iterator[tuple[Any, str, Any]]:
    """Yield (what holds it, its name, the figure) for every float and decimal of a result and its parts."""
    if id(value) in seen:
        return
    seen[id(value)] = value  # kept, so that its id stays its own
    if type(value) in (list, tuple):
        for member in value:
            yield from figures(member, seen)
    elif type(value).__module__.startswith("drawbar."):
        for name in fields_of(value):
            figure = getattr(value, name)
            if isinstance(figure, float | Decimal):
                yield value, name, figure
            else:
                yield from figures(figure, seen)


def results(folder: Path) -> dict[str, Any]:
    """Return a job and the result of every call that returns figures."""
    job = trailer()
    readings = folder / "readings.yaml"
    readings.write_text("readings: [{state: breakfast, at: fryer, pressure: 2.4 kPa}]", encoding="utf-8")
    return {
        "job": job,
        "check": drawbar.check(job).states,
        "explain": drawbar.explain(job).legs,
        "size": drawbar.size(drawbar.read_job(EXAMPLES / "market-kitchen-open.yaml")).result.check.states,
        "recheck": drawbar.recheck(job, [drawbar.parse_swap("basin", "120 MJ/h")]).after,
        "takeoff": drawbar.takeoff(job, waste=0.05).pipes,
        "supply": drawbar.supply(job).states,
        "hotwater": drawbar.hotwater(job, wanted_k=313.15).heaters,
        "tightness": drawbar.tightness(job, readings_gauge_pa=(2750.0, 2700.0)),
        "expected_pressures": drawbar.expected_pressures(job).states,
        "commission": drawbar.commission(job, drawbar.read_readings(readings, job)).compared,
    }


def test_every_figure_is_a_quantity_by_its_name(tmp_path):
    """A float of a result ends in its unit, or is a pure number; in that unit its quantity is the same figure."""
    nameless, count = set(), 0
    for call, result in results(tmp_path).items():
        of_call = 0
        for holder, name, figure in figures(result, {}):
            unit = quantities.unit_of_name(name)
            if unit is None:
                nameless |= {f"{type(holder).__name__}.{name}"} if name not in PURE else set()
                continue
            quantity = drawbar.quantity(holder, name)
            assert quantity.units == units.registry().parse_units(re.sub(r"([a-z])([23])", r"\1**\2", unit))
            assert quantity.magnitude == float(figure) or math.isnan(figure)
            of_call += 1
        assert of_call > 0, call
        count += of_call
    assert nameless == PURE_OF
    assert count > 500


def test_every_ending_is_a_unit_of_the_registry():
    """Each unit of the table can be had as a quantity, and is an SI unit, but for lengths in whole micrometres."""
    for ending in quantities.UNIT_BY_ENDING:
        figure = quantities.quantity_of_name(2.0, f"x{ending}").to_base_units().magnitude
        assert figure == pytest.approx(2e-6 if ending == "_um" else 2.0, rel=1e-12), ending


def test_quantities_reckon_with_each_other():
    """They are of the one registry, so that those of two results can be added, and turned into other units."""
    worst = drawbar.check(trailer()).states[0]
    (griddle,) = [appliance for appliance in worst.appliances if appliance.name == "griddle"]
    allowed = drawbar.quantity(griddle, "drop_pa") + drawbar.quantity(griddle, "margin_pa")
    assert allowed.to("kPa").magnitude == pytest.approx(0.25, rel=1e-12)
    assert drawbar.quantity(trailer(), "temperature_k").to("degC").magnitude == pytest.approx(15.0, abs=1e-9)
    section = worst.runs[0]
    # 1 MJ/h is 1e6 J in 3600 s, and so 1 W is 0.0036 MJ/h.
    assert drawbar.quantity(worst, "total_w").to("MJ/h").magnitude == pytest.approx(worst.total_w * 0.0036, rel=1e-12)
    per_hour = drawbar.quantity(section, "flow_kg_s").to("kg/h").magnitude
    assert per_hour == pytest.approx(section.flow_kg_s * 3600.0, rel=1e-12)


def test_a_bare_figure_is_taken_by_the_name_it_is_given():
    """What a method returns can be given itself, with the name of its unit."""
    line = drawbar.tightness(trailer())
    pressure = drawbar.quantity(line.gauge_pa(line.sections[0]), "gauge_pa")
    assert pressure.to("kPa").magnitude == pytest.approx(line.test.pressure_gauge_pa / 1000.0)


@pytest.mark.parametrize(
    ("name", "error", "message"),
    [
        ("margin", AttributeError, r"^StateResult has no margin; did you mean `margin_pa`\?$"),
        ("drop_pa", AttributeError, r"^StateResult has no drop_pa; "),
        ("name", ValueError, r"^name ends in no unit, as a figure with a unit does$"),
        ("passes", ValueError, r"^passes ends in no unit, as a figure with a unit does$"),
    ],
)
def test_what_is_no_figure_of_a_result(name, error, message):
    """A name that is not there, or has no unit, is told apart, with what is near to it."""
    with pytest.raises(error, match=message):
        drawbar.quantity(drawbar.check(trailer(), with_headroom=False).states[0], name)


def test_a_figure_that_is_not_known_or_a_call():
    """None where a figure is not known, and a figure that takes an argument, each say what they are."""
    first, *_ = drawbar.check(trailer(), with_headroom=False).states[0].regulators
    with pytest.raises(ValueError, match=r"^inlet_gauge_pa of this RegulatorResult is not known$"):
        drawbar.quantity(first, "inlet_gauge_pa")
    with pytest.raises(ValueError, match=r"^wait_s of Tightness is a call; give what it returns"):
        drawbar.quantity(drawbar.tightness(trailer()), "wait_s")

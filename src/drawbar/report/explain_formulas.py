"""The working of the code formulas: what each takes, in its own units, from the functions that check calls."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from drawbar.checking.explain import Explained, Leg
from drawbar.physics.air import REFERENCE_K, STANDARD_PA
from drawbar.physics.flow import Loss
from drawbar.physics.formulas import (
    FOOT_M,
    FORMULAS,
    IFGC_DENSITY_RATIO,
    INCH_M,
    INCH_WATER_PA,
    MBAR_PA,
    PSI_PA,
    capacity_factor,
    corrected_density,
    superexpansibility,
)
from drawbar.report.steps import Step, num

Steps = Iterator[Step | str]
_DROP = "drop in the pipe"
_SQUARES = "difference of the squares, p1^2 - p2^2"


def _flow_m3_h(found: Explained, leg: Leg) -> tuple[float, Step]:
    """Return the volume flow at 15 degC and 101.325 kPa [m3/h], and the step to it."""
    density = found.job.vapour.reference_density_kg_m3
    flow_m3_h = leg.flow.flow_kg_s * 3600.0 / density
    numbers = f"3600 x {num(leg.flow.flow_kg_s)} / {num(density)}"
    return flow_m3_h, Step("gas at 15 degC and 101.325 kPa", "Q", flow_m3_h, "m3/h", "3600 m / rho_n", numbers)


def _length_m(leg: Leg) -> float:
    return leg.flow.section.length_m + leg.flow.section.fittings_m


def _ifgc(found: Explained, leg: Leg, loss: Loss) -> Steps:
    vapour, part, source = found.job.vapour, leg.flow.section, FORMULAS["ifgc"].source
    feet3_h = leg.flow.flow_kg_s * 3600.0 / (vapour.reference_density_kg_m3 * IFGC_DENSITY_RATIO) / FOOT_M**3
    yield Step(
        "gas at 60 degF and 30 in of mercury, where it is 1.0007 times as dense",
        "Q",
        feet3_h,
        "ft3/h",
        "3600 m / (1.0007 rho_n) / 0.3048^3",
        f"3600 x {num(leg.flow.flow_kg_s)} / ({num(IFGC_DENSITY_RATIO)} x {num(vapour.reference_density_kg_m3)}) / "
        f"{FOOT_M}^3",
        source,
    )
    bore_in, length_ft = part.pipe.bore_m / INCH_M, _length_m(leg) / FOOT_M
    yield Step("bore in inches", "D", bore_in, "in", "d / 0.0254", f"{num(part.pipe.bore_m)} / 0.0254")
    yield Step(
        "length with the fittings in feet", "Lf", length_ft, "ft", "Le / 0.3048", f"{num(_length_m(leg))} / 0.3048"
    )
    factor = capacity_factor(vapour)
    rankine = 1.8 * vapour.temperature_k - 459.67 + 460.0
    yield Step(
        "factor for the gas, from its own density and viscosity (cP)",
        "Cr",
        factor,
        "",
        "0.00354 S (degF + 460) (1000 mu / S)^0.152",
        f"0.00354 x {num(vapour.relative_density)} x {num(rankine)} x (1000 x {num(vapour.viscosity_pa_s)} / "
        f"{num(vapour.relative_density)})^0.152",
        source,
    )
    if loss.linear_pa > 0.0:
        inches = loss.linear_pa / INCH_WATER_PA
        yield Step(
            "drop in inches of water",
            "dH",
            inches,
            "inH2O",
            "Cr Lf (Q^0.381 / (19.17 D))^(1 / 0.206)",
            f"{num(factor)} x {num(length_ft)} x ({num(feet3_h)}^0.381 / (19.17 x {num(bore_in)}))^(1 / 0.206)",
            source,
        )
        yield Step(_DROP, "dp", loss.linear_pa, "Pa", "249.089 dH", f"{num(INCH_WATER_PA)} x {num(inches)}")
        return
    expansion = superexpansibility(vapour)
    yield Step(
        "superexpansibility, from the compression factor at 15 degC",
        "Y",
        expansion,
        "",
        "sqrt(Z at 101.325 kPa)",
        f"sqrt({num(vapour.compressibility(STANDARD_PA))})",
        source,
    )
    squares = loss.square_pa2 / PSI_PA**2
    yield Step(
        f"{_SQUARES}, in psi",
        "D2'",
        squares,
        "psi2",
        "Cr Lf / Y (Q^0.381 / (18.93 D))^(1 / 0.206)",
        f"{num(factor)} x {num(length_ft)} / {num(expansion)} x ({num(feet3_h)}^0.381 / (18.93 x {num(bore_in)}))"
        f"^(1 / 0.206)",
        source,
    )
    yield Step(_SQUARES, "D2", loss.square_pa2, "Pa2", "6894.76^2 D2'", f"{num(PSI_PA)}^2 x {num(squares)}")


def _pole(found: Explained, leg: Leg, loss: Loss) -> Steps:
    source = FORMULAS["pole"].source
    flow_m3_h, step = _flow_m3_h(found, leg)
    yield step
    bore_mm, density = leg.flow.section.pipe.bore_m * 1e3, found.job.vapour.relative_density
    mbar = loss.linear_pa / MBAR_PA
    yield Step(
        "drop in mbar, with the bore in mm",
        "dm",
        mbar,
        "mbar",
        "(Q / 0.0071)^2 S Le / D^5",
        f"({num(flow_m3_h)} / 0.0071)^2 x {num(density)} x {num(_length_m(leg))} / {num(bore_mm)}^5",
        source,
    )
    yield Step(_DROP, "dp", loss.linear_pa, "Pa", "100 dm", f"100 x {num(mbar)}")


def _renouard(found: Explained, leg: Leg, loss: Loss) -> Steps:
    vapour, source = found.job.vapour, FORMULAS["renouard"].source
    flow_m3_h, step = _flow_m3_h(found, leg)
    yield step
    density = corrected_density(vapour)
    yield Step(
        "corrected relative density",
        "s",
        density,
        "",
        "1.16 (S / 1.550)^0.82 (mu / 7.88e-6)^0.18",
        f"1.16 x ({num(vapour.relative_density)} / 1.55)^0.82 x ({num(vapour.viscosity_pa_s)} / 7.88e-6)^0.18",
        source,
    )
    common = f"{num(density)} x {num(_length_m(leg))} x {num(flow_m3_h)}^1.82 / {num(leg.flow.section.pipe.bore_m * 1e3)}^4.82"
    words = "s Le Q^1.82 / D^4.82"
    if loss.linear_pa > 0.0:
        mbar = loss.linear_pa / MBAR_PA
        name = "drop in mbar, with the bore in mm"
        yield Step(name, "dm", mbar, "mbar", f"23200 {words}", f"23200 x {common}", source)
        yield Step(_DROP, "dp", loss.linear_pa, "Pa", "100 dm", f"100 x {num(mbar)}")
        return
    squares = loss.square_pa2 / 1e10
    name = f"{_SQUARES}, in bar, with the bore in mm"
    yield Step(name, "D2'", squares, "bar2", f"48.6 {words}", f"48.6 x {common}", source)
    yield Step(_SQUARES, "D2", loss.square_pa2, "Pa2", "1e10 D2'", f"1e10 x {num(squares)}")


def _spitzglass(found: Explained, leg: Leg, loss: Loss) -> Steps:
    vapour, bore_m, source = found.job.vapour, leg.flow.section.pipe.bore_m, FORMULAS["spitzglass"].source
    flow_m3_h, step = _flow_m3_h(found, leg)
    yield step
    shape = 1.0 + 0.09144 / bore_m + 150.0 / 127.0 * bore_m
    bore = num(bore_m)
    words, numbers = "1 + 0.09144 / d + 150 d / 127", f"1 + 0.09144 / {bore} + 150 x {bore} / 127"
    yield Step("shape of the bore", "c", shape, "", words, numbers, source)
    is_linear = loss.linear_pa > 0.0
    squares = loss.linear_pa * 2.0 * (STANDARD_PA + 1210.0) if is_linear else loss.square_pa2
    yield Step(
        _SQUARES,
        "D2",
        squares,
        "Pa2",
        "((Q / 3600) 101325 / (125.106 x 288.15))^2 S T Le c / d^5",
        f"({num(flow_m3_h)} / 3600 x 101325 / (125.106 x {num(REFERENCE_K)}))^2 x {num(vapour.relative_density)} x "
        f"{num(vapour.temperature_k)} x {num(_length_m(leg))} x {num(shape)} / {bore}^5",
        source,
    )
    if is_linear:
        numbers = f"{num(squares)} / (2 x (101325 + 1210))"
        yield Step(_DROP, "dp", loss.linear_pa, "Pa", "D2 / (2 (101325 + 1210))", numbers, source)


CODE_FORMULAS: dict[str, Callable[[Explained, Leg, Loss], Steps]] = {
    "ifgc": _ifgc,
    "pole": _pole,
    "renouard": _renouard,
    "spitzglass": _spitzglass,
}

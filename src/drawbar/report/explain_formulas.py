"""The working of the code formulas: what each takes, in its own units, from the terms that a check is worked out by."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from drawbar.physics import handbook_formulas, ifgc
from drawbar.physics.air import REFERENCE_K, STANDARD_PA
from drawbar.physics.flow import Loss, PipeFlow, thin_air_factor
from drawbar.physics.formulas import FORMULAS
from drawbar.report.steps import Step, num

_DROP = "drop in the pipe"
_SQUARES = "difference of the squares, p1^2 - p2^2"


def _flow_step(flow: PipeFlow, flow_m3_h: float) -> Step:
    """Return the step to the volume flow at 15 degC and 101.325 kPa [m3/h]."""
    numbers = f"3600 x {num(flow.mass_flow_kg_s)} / {num(flow.vapour.reference_density_kg_m3)}"
    return Step("gas at 15 degC and 101.325 kPa", "Q", flow_m3_h, "m3/h", "3600 m / rho_n", numbers)


def _taken(words: str, numbers: str, symbol: str, factor: float) -> tuple[str, str]:
    """Return a formula and its figures, times a factor for the site where there is one."""
    return (words, numbers) if factor == 1.0 else (f"{symbol} {words}", f"{num(factor)} x {numbers}")


def _thin_air(flow: PipeFlow, factor: float) -> Iterator[Step]:
    """Yield the step to the factor for thin air, where it is more than 1."""
    if factor != 1.0:
        vapour, gauge_pa = flow.vapour, flow.stage_gauge_pa
        sea, here = (vapour.density_kg_m3(air_pa + gauge_pa) for air_pa in (STANDARD_PA, flow.atmospheric_pa))
        yield Step(
            "density of the gas at the sea over that here", "ka", factor, "", "rho0 / rho", f"{num(sea)} / {num(here)}"
        )


def _site(flow: PipeFlow, factor: float, *, low: bool) -> Iterator[Step]:
    """Yield the steps to the factor of a formula for 15 degC, where it is more than 1; thin air counts where asked."""
    if factor == 1.0:
        return
    thin, warm = thin_air_factor(flow) if low else 1.0, handbook_formulas.warm_gas_factor(flow)
    yield from _thin_air(flow, thin)
    kelvin = num(flow.vapour.temperature_k)
    words, numbers = ("ka", num(thin)) if warm == 1.0 else ("T / 288.15", f"{kelvin} / {num(REFERENCE_K)}")
    if thin != 1.0 and warm != 1.0:
        words, numbers = f"ka {words}", f"{num(thin)} x {numbers}"
    yield Step("for gas that is thinner here", "k", factor, "", words, numbers)


def _ifgc(flow: PipeFlow, loss: Loss) -> Iterator[Step]:
    terms = ifgc.ifgc_terms(flow)
    yield from _ifgc_givens(flow, terms)
    if loss.linear_pa > 0.0:
        yield from _ifgc_low(flow, terms, loss)
    else:
        yield from _ifgc_high(flow, terms, loss)


def _ifgc_givens(flow: PipeFlow, terms: ifgc.IfgcTerms) -> Iterator[Step]:
    """Yield flow, bore, length and the factor for the gas in the units of the code."""
    vapour, source = flow.vapour, FORMULAS["ifgc"].source
    density = num(vapour.relative_density)
    yield Step(
        "gas at 60 degF and 30 in of mercury, where it is 1.0007 times as dense",
        "Q",
        terms.flow_ft3_h,
        "ft3/h",
        "3600 m / (1.0007 rho_n) / 0.3048^3",
        f"3600 x {num(flow.mass_flow_kg_s)} / ({num(ifgc.IFGC_DENSITY_RATIO)} x "
        f"{num(vapour.reference_density_kg_m3)}) / {ifgc.FOOT_M}^3",
        source,
    )
    yield Step("bore in inches", "D", terms.bore_in, "in", "d / 0.0254", f"{num(flow.bore_m)} / 0.0254")
    numbers = f"{num(flow.length_m)} / 0.3048"
    yield Step("length with the fittings in feet", "Lf", _length_ft(flow), "ft", "Le / 0.3048", numbers)
    yield Step(
        "factor for the gas, from its own density and viscosity (cP)",
        "Cr",
        terms.capacity_factor,
        "",
        "0.00354 S (degF + 460) (1000 mu / S)^0.152",
        f"0.00354 x {density} x {num(ifgc.rankine_of_code(vapour.temperature_k))} x (1000 x "
        f"{num(vapour.viscosity_pa_s)} / {density})^0.152",
        source,
    )


def _length_ft(flow: PipeFlow) -> float:
    return flow.length_m / ifgc.FOOT_M


def _ifgc_low(flow: PipeFlow, terms: ifgc.IfgcTerms, loss: Loss) -> Iterator[Step]:
    """Yield the steps of the low-pressure form."""
    inches = num(terms.drop_inh2o)
    yield Step(
        "drop in inches of water",
        "dH",
        terms.drop_inh2o,
        "inH2O",
        "Cr Lf (Q^0.381 / (19.17 D))^(1 / 0.206)",
        f"{num(terms.capacity_factor)} x {num(_length_ft(flow))} x ({num(terms.flow_ft3_h)}^0.381 / (19.17 x "
        f"{num(terms.bore_in)}))^(1 / 0.206)",
        FORMULAS["ifgc"].source,
    )
    yield from _thin_air(flow, terms.thin_air)
    words, numbers = _taken("249.089 dH", f"{num(ifgc.INCH_WATER_PA)} x {inches}", "ka", terms.thin_air)
    yield Step(_DROP, "dp", loss.linear_pa, "Pa", words, numbers)


def _ifgc_high(flow: PipeFlow, terms: ifgc.IfgcTerms, loss: Loss) -> Iterator[Step]:
    """Yield the steps of the high-pressure form."""
    source = FORMULAS["ifgc"].source
    yield Step(
        "superexpansibility, from the compression factor at 15 degC",
        "Y",
        terms.superexpansibility,
        "",
        "sqrt(Z at 101.325 kPa)",
        f"sqrt({num(flow.vapour.compressibility(STANDARD_PA))})",
        source,
    )
    yield Step(
        f"{_SQUARES}, in psi",
        "D2'",
        terms.squares_psi2,
        "psi2",
        "Cr Lf / Y (Q^0.381 / (18.93 D))^(1 / 0.206)",
        f"{num(terms.capacity_factor)} x {num(_length_ft(flow))} / {num(terms.superexpansibility)} x "
        f"({num(terms.flow_ft3_h)}^0.381 / (18.93 x {num(terms.bore_in)}))^(1 / 0.206)",
        source,
    )
    numbers = f"{num(ifgc.PSI_PA)}^2 x {num(terms.squares_psi2)}"
    yield Step(_SQUARES, "D2", loss.square_pa2, "Pa2", "6894.76^2 D2'", numbers)


def _pole(flow: PipeFlow, loss: Loss) -> Iterator[Step]:
    terms = handbook_formulas.pole_terms(flow)
    yield _flow_step(flow, terms.flow_m3_h)
    yield Step(
        "drop in mbar, with the bore in mm",
        "dm",
        terms.drop_mbar,
        "mbar",
        "(Q / 0.0071)^2 S Le / D^5",
        f"({num(terms.flow_m3_h)} / 0.0071)^2 x {num(flow.vapour.relative_density)} x {num(flow.length_m)} / "
        f"{num(flow.bore_m * 1e3)}^5",
        FORMULAS["pole"].source,
    )
    yield from _site(flow, terms.site, low=True)
    words, numbers = _taken("100 dm", f"100 x {num(terms.drop_mbar)}", "k", terms.site)
    yield Step(_DROP, "dp", loss.linear_pa, "Pa", words, numbers)


def _renouard(flow: PipeFlow, loss: Loss) -> Iterator[Step]:
    vapour, source, terms = flow.vapour, FORMULAS["renouard"].source, handbook_formulas.renouard_terms(flow)
    yield _flow_step(flow, terms.flow_m3_h)
    density = terms.corrected_density
    yield Step(
        "corrected relative density",
        "s",
        density,
        "",
        "1.16 (S / 1.550)^0.82 (mu / 7.88e-6)^0.18",
        f"1.16 x ({num(vapour.relative_density)} / 1.55)^0.82 x ({num(vapour.viscosity_pa_s)} / 7.88e-6)^0.18",
        source,
    )
    words = "s Le Q^1.82 / D^4.82"
    common = f"{num(density)} x {num(flow.length_m)} x {num(terms.flow_m3_h)}^1.82 / {num(flow.bore_m * 1e3)}^4.82"
    if loss.linear_pa > 0.0:
        mbar = terms.drop_mbar
        name = "drop in mbar, with the bore in mm"
        yield Step(name, "dm", mbar, "mbar", f"23200 {words}", f"23200 x {common}", source)
        yield from _site(flow, terms.site, low=True)
        words, numbers = _taken("100 dm", f"100 x {num(mbar)}", "k", terms.site)
        yield Step(_DROP, "dp", loss.linear_pa, "Pa", words, numbers)
        return
    squares = terms.squares_bar2
    name = f"{_SQUARES}, in bar, with the bore in mm"
    yield Step(name, "D2'", squares, "bar2", f"48.6 {words}", f"48.6 x {common}", source)
    yield from _site(flow, terms.site, low=False)
    words, numbers = _taken("1e10 D2'", f"1e10 x {num(squares)}", "k", terms.site)
    yield Step(_SQUARES, "D2", loss.square_pa2, "Pa2", words, numbers)


def _spitzglass(flow: PipeFlow, loss: Loss) -> Iterator[Step]:
    vapour, source, terms = flow.vapour, FORMULAS["spitzglass"].source, handbook_formulas.spitzglass_terms(flow)
    flow_m3_h = terms.flow_m3_s * 3600.0
    yield _flow_step(flow, flow_m3_h)
    bore = num(flow.bore_m)
    words, numbers = "1 + 0.09144 / d + 150 d / 127", f"1 + 0.09144 / {bore} + 150 x {bore} / 127"
    yield Step("shape of the bore", "c", terms.shape, "", words, numbers, source)
    squares = terms.squares_pa2
    yield Step(
        _SQUARES,
        "D2",
        squares,
        "Pa2",
        "((Q / 3600) 101325 / (125.106 x 288.15))^2 S T Le c / d^5",
        f"({num(flow_m3_h)} / 3600 x 101325 / (125.106 x {num(REFERENCE_K)}))^2 x {num(vapour.relative_density)} x "
        f"{num(vapour.temperature_k)} x {num(flow.length_m)} x {num(terms.shape)} / {bore}^5",
        source,
    )
    if loss.linear_pa > 0.0:
        yield from _thin_air(flow, terms.thin_air)
        words, numbers = _taken(
            "D2 / (2 (101325 + 1210))", f"{num(squares)} / (2 x (101325 + 1210))", "ka", terms.thin_air
        )
        yield Step(_DROP, "dp", loss.linear_pa, "Pa", words, numbers, source)


CODE_FORMULAS: dict[str, Callable[[PipeFlow, Loss], Iterator[Step]]] = {
    "ifgc": _ifgc,
    "pole": _pole,
    "renouard": _renouard,
    "spitzglass": _spitzglass,
}
"""For each formula but Darcy's, what yields the steps from a flow in a pipe to what the pipe takes."""

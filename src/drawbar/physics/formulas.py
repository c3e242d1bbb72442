"""The pressure-drop formulas by name: Darcy's, and those of codes and handbooks, with range and source."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from drawbar.physics.air import REFERENCE_K, STANDARD_PA
from drawbar.physics.flow import NO_LOSS, TURBULENT_ABOVE, Loss, darcy, reynolds

if TYPE_CHECKING:
    from collections.abc import Callable

    from drawbar.physics.gas import Vapour

FOOT_M, INCH_M, INCH_WATER_PA, PSI_PA, MBAR_PA = 0.3048, 0.0254, 249.08891, 6894.757293, 100.0

IFGC_HIGH_FROM_PA = 1.5 * PSI_PA  # gauge: IFGC 2018, 402.4
# The code's cubic foot is at 60 degF and 30 inHg: 1.0007 times as dense as at 15 degC and 101.325 kPa.
IFGC_DENSITY_RATIO = (101_591.7 / STANDARD_PA) * (REFERENCE_K / 288.706)


def capacity_factor(vapour: Vapour) -> float:
    """Factor Cr of the IFGC formulas, for density, viscosity and temperature [-].

    Cr = 0.00354 S T (Z / S)^0.152, T = degF + 460. The code prints 1.2462 for propane and 0.6094 for natural gas: this
    formula at S 1.50, Z 0.008 cP and at S 0.60, Z 0.012 cP, both at 60 degF. The gas's own S and Z are used for all,
    so that a mixture is treated as its parts are. Pure propane has S 1.55, which makes Cr 2.4 % more than printed at
    15 degC; it has 3 % more heat in a cubic foot too, so the drop for a heat rate comes out about 3 % below the code's.
    Valid range: fuel gases near room temperature. Source: IFGC 2018, 402.4 and A.4.

    vapour : the gas: relative density S, viscosity Z, temperature T [SI]
    """
    density = vapour.relative_density
    rankine = 1.8 * vapour.temperature_k - 459.67 + 460.0
    return 0.00354 * density * rankine * math.pow(vapour.viscosity_pa_s * 1e3 / density, 0.152)


def superexpansibility(vapour: Vapour) -> float:
    """Factor Y of the IFGC high-pressure formula, 1 / supercompressibility factor [-].

    Y = sqrt(Z), Z at 101.325 kPa, as the supercompressibility factor is sqrt(1/Z). The code prints 0.9910 for propane
    and 0.9992 for natural gas; this gives 0.9908 for propane at 15 degC, and a figure for any other gas.
    Valid range: as the formula. Source: IFGC 2018, 402.4 and A.4 for the definition.

    vapour : the gas: its compressibility factor [SI]
    """
    return math.sqrt(vapour.compressibility(STANDARD_PA))


def ifgc(
    mass_flow_kg_s: float,
    bore_m: float,
    roughness_m: float,
    length_m: float,
    vapour: Vapour,
    stage_gauge_pa: float,
    atmospheric_pa: float,
) -> Loss:
    """Formulas of the International Fuel Gas Code, the same as NFPA 54, divided at a stage pressure of 1.5 psi.

    Below: D = Q^0.381 / (19.17 (dH / (Cr L))^0.206). From it: D = Q^0.381 / (18.93 ((P1^2 - P2^2) Y / (Cr L))^0.206).
    D in, Q ft3/h at 60 degF and 30 inHg, dH in w.c., L ft, P psia, Cr from ``capacity_factor``, Y from
    ``superexpansibility``.
    Valid range: smooth pipe, turbulent flow, bores as in the code's tables. Source: IFGC 2018, 402.4 (NFPA 54).

    mass_flow_kg_s : mass flow [kg/s]
    bore_m : inside diameter [m]
    roughness_m : not used by this formula [m]
    length_m : length and equivalent length [m]
    vapour : the gas [SI]
    stage_gauge_pa : pressure that the stage is set to, which picks the form [Pa gauge]
    atmospheric_pa : pressure of the air, not used here [Pa absolute]
    """
    if mass_flow_kg_s <= 0.0:
        return NO_LOSS
    feet3_h = mass_flow_kg_s * 3600.0 / (vapour.reference_density_kg_m3 * IFGC_DENSITY_RATIO) / FOOT_M**3
    resistance = capacity_factor(vapour) * length_m / FOOT_M
    root = math.pow(feet3_h, 0.381) / (bore_m / INCH_M)
    if stage_gauge_pa < IFGC_HIGH_FROM_PA:
        return Loss(resistance * math.pow(root / 19.17, 1.0 / 0.206) * INCH_WATER_PA, 0.0, 0.0, 0.0)
    square = resistance * math.pow(root / 18.93, 1.0 / 0.206) / superexpansibility(vapour)
    return Loss(0.0, square * PSI_PA**2, 0.0, 0.0)


def pole(
    mass_flow_kg_s: float,
    bore_m: float,
    roughness_m: float,
    length_m: float,
    vapour: Vapour,
    stage_gauge_pa: float,
    atmospheric_pa: float,
) -> Loss:
    """Pole's formula: a fixed friction factor (f = 0.0259), so that the drop goes with the flow squared.

    Q = 0.0071 sqrt(d^5 h / (s L)); Q m3/h at 15 degC and 101.325 kPa, d mm, h mbar, s relative density, L m.
    Valid range: low pressure, turbulent flow. In small tubes at low Reynolds numbers it falls short.
    Source: UK low-pressure practice, from memory; within 0.4 % of flow the same as Q = 1350 sqrt(d^5 h / (s l)) in
    ft3/h, in, in w.c. and yards, Pole's formula in "Acetylene, the Principles of its Generation and Use" (1909).

    mass_flow_kg_s : mass flow [kg/s]
    bore_m : inside diameter [m]
    roughness_m : not used by this formula [m]
    length_m : length and equivalent length [m]
    vapour : the gas: reference density, relative density [SI]
    stage_gauge_pa : pressure of the stage, not used here [Pa gauge]
    atmospheric_pa : pressure of the air, not used here [Pa absolute]
    """
    if mass_flow_kg_s <= 0.0:
        return NO_LOSS
    flow_m3_h = mass_flow_kg_s * 3600.0 / vapour.reference_density_kg_m3
    drop_mbar = (flow_m3_h / 0.0071) ** 2 * vapour.relative_density * length_m / (bore_m * 1e3) ** 5
    return Loss(drop_mbar * MBAR_PA, 0.0, 0.0, 0.0)


RENOUARD_QUADRATIC_ABOVE_PA = 500 * 9.80665  # gauge: 500 mm of water


def corrected_density(vapour: Vapour) -> float:
    """Corrected relative density of Renouard's formulas, which carries the gas's viscosity too [-].

    s = 1.16 (S / 1.550)^0.82 (mu / 7.88 uPa s)^0.18. The source gives 1.16 for propane (2.32 times town gas's 0.50);
    the exponents are those of its general law f = 0.172 Re^-0.18. S and mu of propane at 15 degC from CoolProp 8.0.0.
    Valid range: as Renouard's formulas; methane comes to 0.53, where the source has 0.54 for natural gas.
    Source: as ``renouard``.

    vapour : the gas: relative density S, viscosity mu [SI]
    """
    return 1.16 * math.pow(vapour.relative_density / 1.550, 0.82) * math.pow(vapour.viscosity_pa_s / 7.88e-6, 0.18)


def renouard(
    mass_flow_kg_s: float,
    bore_m: float,
    roughness_m: float,
    length_m: float,
    vapour: Vapour,
    stage_gauge_pa: float,
    atmospheric_pa: float,
) -> Loss:
    """Renouard's formulas: linear up to 500 mm of water, quadratic above.

    P1 - P2 = 23200 s L Q^1.82 D^-4.82 in mbar; P1^2 - P2^2 = 48.6 s L Q^1.82 D^-4.82 in bar absolute.
    L m, Q m3/h at 15 degC and 1013 mbar, D mm, s from ``corrected_density``.
    Valid range: Q / D below 150, Re below 2e6 (from memory), turbulent flow.
    Source: Formulaire (a French pipe handbook), Tec & Doc, 1989, Aeraulique, formulas (1) and (2), with L in km: 48 600
    and, in mm of water, 232e6. The mbar form (from memory) takes 10 mm as 1 mbar, 2 % more; the larger drop is kept.

    mass_flow_kg_s : mass flow [kg/s]
    bore_m : inside diameter [m]
    roughness_m : not used by this formula [m]
    length_m : length and equivalent length [m]
    vapour : the gas [SI]
    stage_gauge_pa : pressure that the stage is set to, which picks the form [Pa gauge]
    atmospheric_pa : pressure of the air, not used here [Pa absolute]
    """
    if mass_flow_kg_s <= 0.0:
        return NO_LOSS
    flow_m3_h = mass_flow_kg_s * 3600.0 / vapour.reference_density_kg_m3
    common = corrected_density(vapour) * length_m * math.pow(flow_m3_h, 1.82) * math.pow(bore_m * 1e3, -4.82)
    if stage_gauge_pa <= RENOUARD_QUADRATIC_ABOVE_PA:
        return Loss(23_200.0 * common * MBAR_PA, 0.0, 0.0, 0.0)
    return Loss(0.0, 48.6 * common * 1e10, 0.0, 0.0)


SPITZGLASS_HIGH_ABOVE_PA = PSI_PA  # gauge


def spitzglass(
    mass_flow_kg_s: float,
    bore_m: float,
    roughness_m: float,
    length_m: float,
    vapour: Vapour,
    stage_gauge_pa: float,
    atmospheric_pa: float,
) -> Loss:
    """Spitzglass's formulas: low pressure up to 1 psi, high pressure above.

    Q = 125.1060 (Ts / Ps) D^2.5 sqrt((P1^2 - P2^2) / (S L T (1 + 0.09144 / D + 150 D / 127))); up to 1 psi, P1^2 - P2^2
    is taken as 2 (P1 - P2) (Ps + 1210). Q m3/s at Ps 101 325 Pa and Ts 288.15 K, D m, P Pa absolute, L m, T K,
    S relative density.
    Valid range: iron and steel pipe, 1/2 to 10 in, turbulent flow (from memory). In small tubes the term in 1 / D runs
    away: in a bore of 11 mm the drop is about three times Darcy's.
    Source: Coelho and Pinho, J. Braz. Soc. Mech. Sci. Eng. 29 (2007), 262-273; the form Q = 3550 sqrt(d^5 h / (S L (1 +
    3.6/d + 0.03 d))) in ft3/h, in, in w.c. and ft stands in US handbooks.

    mass_flow_kg_s : mass flow [kg/s]
    bore_m : inside diameter [m]
    roughness_m : not used by this formula [m]
    length_m : length and equivalent length [m]
    vapour : the gas [SI]
    stage_gauge_pa : pressure that the stage is set to, which picks the form [Pa gauge]
    atmospheric_pa : pressure of the air, not used here [Pa absolute]
    """
    if mass_flow_kg_s <= 0.0:
        return NO_LOSS
    flow_m3_s = mass_flow_kg_s / vapour.reference_density_kg_m3
    gas = vapour.relative_density * vapour.temperature_k
    shape = (1.0 + 0.09144 / bore_m + 150.0 / 127.0 * bore_m) / bore_m**5
    square = (flow_m3_s * STANDARD_PA / (125.1060 * REFERENCE_K)) ** 2 * gas * length_m * shape
    if stage_gauge_pa <= SPITZGLASS_HIGH_ABOVE_PA:
        return Loss(square / (2.0 * (STANDARD_PA + 1210.0)), 0.0, 0.0, 0.0)
    return Loss(0.0, square, 0.0, 0.0)


class Formula(NamedTuple):
    """A pressure-drop formula with its source and the range it is good for.

    bore_range_m : smallest and largest inside diameter [m]
    reynolds_range : smallest and largest Reynolds number [-]
    gauge_max_pa : highest stage pressure [Pa gauge]
    flow_by_bore_max : highest Q / D [m3/h by mm]
    range_source : where the range comes from
    """

    name: str
    title: str
    source: str
    function: Callable[[float, float, float, float, Vapour, float, float], Loss]
    uses_roughness: bool
    range_source: str
    bore_range_m: tuple[float, float] = (0.0, math.inf)
    reynolds_range: tuple[float, float] = (TURBULENT_ABOVE, math.inf)
    gauge_max_pa: float = math.inf
    flow_by_bore_max: float = math.inf

    @property
    def valid(self) -> str:
        """The range in words, made from the figures that ``outside`` goes by."""
        parts = []
        (low_m, high_m), (low, high) = self.bore_range_m, self.reynolds_range
        if low_m > 0.0 or high_m < math.inf:
            parts.append(f"bore {low_m * 1e3:.4g} to {high_m * 1e3:.4g} mm")
        if low > 0.0:
            parts.append(f"Reynolds number from {low:.0f}" + (f" to {high:.0e}" if high < math.inf else ""))
        elif high < math.inf:
            parts.append(f"Reynolds number up to {high:.0e}")
        if self.gauge_max_pa < math.inf:
            parts.append(f"up to {self.gauge_max_pa / 1e3:.4g} kPa")
        if self.flow_by_bore_max < math.inf:
            parts.append(f"Q/D below {self.flow_by_bore_max:.0f} m3/h by mm")
        return f"{', '.join(parts)} ({self.range_source})"

    def outside(self, mass_flow_kg_s: float, bore_m: float, vapour: Vapour, stage_gauge_pa: float) -> str | None:
        """Say in a short sentence what is outside the formula's range, or None. With no flow there is nothing to say.

        mass_flow_kg_s : mass flow [kg/s]
        bore_m : inside diameter [m]
        vapour : the gas: viscosity, reference density [SI]
        stage_gauge_pa : pressure that the stage is set to [Pa gauge]
        """
        if mass_flow_kg_s <= 0.0:
            return None
        (low_m, high_m), (low, high) = self.bore_range_m, self.reynolds_range
        if not low_m <= bore_m <= high_m:
            return f"a bore of {bore_m * 1e3:.4g} mm is outside {low_m * 1e3:.4g} to {high_m * 1e3:.4g} mm"
        number = reynolds(mass_flow_kg_s, bore_m, vapour.viscosity_pa_s)
        if number < low:
            return f"the formula is for turbulent flow; the Reynolds number is {number:.0f}, below {low:.0f}"
        flow_by_bore = mass_flow_kg_s * 3600.0 / vapour.reference_density_kg_m3 / (bore_m * 1e3)
        if flow_by_bore >= self.flow_by_bore_max:
            return f"Q/D is {flow_by_bore:.0f} m3/h by mm, not below {self.flow_by_bore_max:.0f}"
        if number > high:
            return f"the Reynolds number is {number:.3g}, above {high:.0e}"
        if stage_gauge_pa > self.gauge_max_pa:
            return f"{stage_gauge_pa / 1e3:.4g} kPa is above the formula's {self.gauge_max_pa / 1e3:.4g} kPa"
        return None


FORMULAS: dict[str, Formula] = {
    formula.name: formula
    for formula in (
        Formula(
            name="darcy",
            title="Darcy-Weisbach with Colebrook-White friction, isothermal",
            source="Colebrook, J. Inst. Civ. Eng. 11 (1939), 133-156; laminar 64/Re below Re 2000",
            function=darcy,
            uses_roughness=True,
            range_source="Moody's chart, Trans. ASME 66 (1944), from memory",
            reynolds_range=(0.0, 1e8),
        ),
        Formula(
            name="ifgc",
            title="International Fuel Gas Code, low and high pressure (NFPA 54)",
            source="IFGC 2018, 402.4",
            function=ifgc,
            uses_roughness=False,
            range_source="bores of IFGC 2018 tables 402.4(28) to (30); turbulent flow: common practice",
            bore_range_m=(0.305 * INCH_M, 4.026 * INCH_M),
        ),
        Formula(
            name="pole",
            title="Pole, low pressure",
            source="UK low-pressure practice, from memory",
            function=pole,
            uses_roughness=False,
            range_source="common practice",
            gauge_max_pa=7500.0,
        ),
        Formula(
            name="renouard",
            title="Renouard, linear and quadratic",
            source="Formulaire (pipe handbook), Tec & Doc, 1989, Aeraulique, formulas (1) and (2)",
            function=renouard,
            uses_roughness=False,
            range_source="Q/D from the source; Reynolds numbers from memory",
            reynolds_range=(TURBULENT_ABOVE, 2e6),
            flow_by_bore_max=150.0,
        ),
        Formula(
            name="spitzglass",
            title="Spitzglass, low and high pressure",
            source="Coelho and Pinho, J. Braz. Soc. Mech. Sci. Eng. 29 (2007), 262-273",
            function=spitzglass,
            uses_roughness=False,
            range_source="iron and steel pipe from 1/2 to 10 in, from memory",
            bore_range_m=(0.622 * INCH_M, 10.02 * INCH_M),
        ),
    )
}

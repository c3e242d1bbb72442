"""The pressure-drop formulas by name: Darcy's, and those of codes and handbooks, with range and source."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from drawbar.physics.darcy import darcy
from drawbar.physics.friction import TURBULENT_ABOVE, reynolds
from drawbar.physics.handbook_formulas import pole, reference_flow_m3_h, renouard, spitzglass
from drawbar.physics.ifgc import INCH_M, ifgc

if TYPE_CHECKING:
    from collections.abc import Callable

    from drawbar.physics.flow import Loss, PipeFlow


_SMOOTH_M = (
    0.2e-3  # galvanised pipe, 0.15 mm, is smooth enough for a formula that knows no roughness; corrugations are not
)


class Formula(NamedTuple):
    """A pressure-drop formula with its source and the range it is good for.

    Attributes
    ----------
    name : str
        Its name in a job file and on the command line.
    title : str
        What it is, in words.
    source : str
        Where the equation stands.
    function : callable
        What it makes of a `PipeFlow`: a `Loss`.
    uses_roughness : bool
        Whether the roughness of the wall counts.
    range_source : str
        Where the range comes from.
    bore_range_m : tuple of float
        Smallest and largest inside diameter [m].
    reynolds_range : tuple of float
        Smallest and largest Reynolds number [-].
    gauge_max_pa : float
        Highest stage pressure [Pa gauge].
    flow_by_bore_max : float
        Highest Q / D [m3/h by mm].
    """

    name: str
    title: str
    source: str
    function: Callable[[PipeFlow], Loss]
    uses_roughness: bool
    range_source: str
    bore_range_m: tuple[float, float] = (0.0, math.inf)
    reynolds_range: tuple[float, float] = (TURBULENT_ABOVE, math.inf)
    gauge_max_pa: float = math.inf
    flow_by_bore_max: float = math.inf

    @property
    def valid(self) -> str:
        """The range in words, made from the figures that `outside` goes by."""
        parts = []
        (low_m, high_m), (low, high) = self.bore_range_m, self.reynolds_range
        if low_m > 0.0 or high_m < math.inf:
            parts.append(f"bore {low_m * 1e3:.4g} to {high_m * 1e3:.4g} mm")
        if low > 0.0:
            parts.append(f"Reynolds number from {low:.0f}" + (f" to {high:.0e}" if high < math.inf else ""))
        elif high < math.inf:
            parts.append(f"Reynolds number up to {high:.0e}")
        if not self.uses_roughness:
            parts.append(f"walls up to {_SMOOTH_M * 1e3:.4g} mm rough")
        if self.gauge_max_pa < math.inf:
            parts.append(f"up to {self.gauge_max_pa / 1e3:.4g} kPa")
        if self.flow_by_bore_max < math.inf:
            parts.append(f"Q/D below {self.flow_by_bore_max:.0f} m3/h by mm")
        return f"{', '.join(parts)} ({self.range_source})"

    def outside(self, flow: PipeFlow) -> str | None:  # noqa: PLR0911 - one way out for each bound
        """Say in a short sentence what is outside the formula's range, or None. With no flow there is nothing to say.

        Parameters
        ----------
        flow : PipeFlow
            The flow in the pipe: all but its length count [SI].

        Returns
        -------
        str or None
            The sentence, in the units of the trade.
        """
        mass_flow_kg_s, bore_m, roughness_m, _, vapour, gauge_pa, _ = flow
        if mass_flow_kg_s <= 0.0:
            return None
        (low_m, high_m), (low, high) = self.bore_range_m, self.reynolds_range
        if not low_m <= bore_m <= high_m:
            return f"a bore of {bore_m * 1e3:.4g} mm is outside {low_m * 1e3:.4g} to {high_m * 1e3:.4g} mm"
        if roughness_m > _SMOOTH_M and not self.uses_roughness:
            return f"a wall {roughness_m * 1e3:.4g} mm rough or corrugated takes more than the formula knows"
        number = reynolds(mass_flow_kg_s, bore_m, vapour.viscosity_pa_s)
        if number < low:
            return f"the formula is for turbulent flow; the Reynolds number is {number:.0f}, below {low:.0f}"
        flow_by_bore = reference_flow_m3_h(flow) / (bore_m * 1e3)
        if flow_by_bore >= self.flow_by_bore_max:
            return f"Q/D is {flow_by_bore:.0f} m3/h by mm, not below {self.flow_by_bore_max:.0f}"
        if number > high:
            return f"the Reynolds number is {number:.3g}, above {high:.0e}"
        if gauge_pa > self.gauge_max_pa:
            return f"{gauge_pa / 1e3:.4g} kPa is above the formula's {self.gauge_max_pa / 1e3:.4g} kPa"
        return None


FORMULAS: dict[str, Formula] = {
    formula.name: formula
    for formula in (
        Formula(
            name="darcy",
            title="Darcy-Weisbach with Colebrook-White friction, isothermal",
            source="Colebrook, J. Inst. Civ. Eng. 11 (1939), 133-156; laminar 64/Re below Re 1900 (handbooks: 2000)",
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
